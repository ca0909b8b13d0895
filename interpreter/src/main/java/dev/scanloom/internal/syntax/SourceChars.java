package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import org.antlr.v4.runtime.CharStream;
import org.antlr.v4.runtime.misc.Interval;

/** A source text as the lexer reads it: positions are offsets in code points, also where the text holds lone surrogates. */
final class SourceChars implements CharStream {
  private final SourceText source;
  private final int end;
  private int at;

  SourceChars(SourceText source, int start, int end) {
    this.source = source;
    this.at = start;
    this.end = end;
  }

  @Override
  public void consume() {
    if (at >= end) {
      throw new IllegalStateException("cannot consume EOF");
    }
    at++;
  }

  @Override
  public int LA(int i) {
    int place = i > 0 ? at + i - 1 : at + i;
    return i == 0 ? 0 : place >= 0 && place < end ? source.codePointAt(place) : EOF;
  }

  @Override
  public int mark() {
    return -1;
  }

  @Override
  public void release(int marker) {
    // the whole text stays in memory
  }

  @Override
  public int index() {
    return at;
  }

  @Override
  public void seek(int index) {
    at = Math.min(index, end);
  }

  @Override
  public int size() {
    return end;
  }

  @Override
  public String getSourceName() {
    return source.name();
  }

  @Override
  public String getText(Interval interval) {
    return source.slice(interval.a, interval.b + 1);
  }
}
