package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Expression.LiteralKind;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.antlr.v4.runtime.Token;

/** Nodes that the tree builder and {@link Straight} make alike from tokens. */
final class Nodes {
  private Nodes() {}

  /** The same expression with the parentheses around it. */
  static Expression withSpan(Expression e, Span span) {
    return e.accept(new Expression.Visitor<Expression>() {
      @Override
      public Expression literal(Expression.Literal x) {
        return new Expression.Literal(span, x.kind(), x.prefix(), x.negative(), x.text());
      }

      @Override
      public Expression name(Expression.Ident x) {
        return new Expression.Ident(span, x.name());
      }

      @Override
      public Expression typedName(Expression.TypedName x) {
        return new Expression.TypedName(span, x.type(), x.value());
      }

      @Override
      public Expression direct(Expression.Direct x) {
        return new Expression.Direct(span, x.address());
      }

      @Override
      public Expression member(Expression.Member x) {
        return new Expression.Member(span, x.base(), x.name());
      }

      @Override
      public Expression index(Expression.Index x) {
        return new Expression.Index(span, x.base(), x.indices());
      }

      @Override
      public Expression bits(Expression.Bits x) {
        return new Expression.Bits(span, x.base(), x.size(), x.number());
      }

      @Override
      public Expression dereference(Expression.Dereference x) {
        return new Expression.Dereference(span, x.base());
      }

      @Override
      public Expression call(Expression.Call x) {
        return new Expression.Call(span, x.target(), x.arguments());
      }

      @Override
      public Expression unary(Expression.Unary x) {
        return new Expression.Unary(span, x.operator(), x.operand());
      }

      @Override
      public Expression chain(Expression.Chain x) {
        return new Expression.Chain(span, x.first(), x.rest());
      }

      @Override
      public Expression self(Expression.Self x) {
        return new Expression.Self(span, x.isSuper());
      }

      @Override
      public Expression error(Expression.Erroneous x) {
        return new Expression.Erroneous(span);
      }
    });
  }

  /** A duration or date as a literal with its prefix apart. */
  static Expression.Literal prefixed(SourceText source, Token token) {
    String text = source.slice(token.getStartIndex(), token.getStopIndex() + 1);
    LiteralKind kind = kind(token);
    int mark = text.indexOf('#');
    Name prefix = new Name(new Span(source, token.getStartIndex(), token.getStartIndex() + mark), text.substring(0, mark));
    char sign = kind == LiteralKind.DURATION && text.length() > mark + 1 ? text.charAt(mark + 1) : 0;
    boolean signed = sign == '-' || sign == '+';
    return new Expression.Literal(new Span(source, token.getStartIndex(), token.getStopIndex() + 1), kind, Optional.of(prefix), sign == '-',
        text.substring(mark + (signed ? 2 : 1)));
  }

  static LiteralKind kind(Token token) {
    return switch (token.getType()) {
      case INTEGER, BASED -> LiteralKind.INTEGER;
      case REAL -> LiteralKind.REAL;
      case TRUE, FALSE -> LiteralKind.BOOLEAN;
      case NULL -> LiteralKind.NULL;
      case STRING -> LiteralKind.STRING;
      case WSTRING -> LiteralKind.WSTRING;
      case DURATION -> LiteralKind.DURATION;
      case DATE -> LiteralKind.DATE;
      case TIME_OF_DAY -> LiteralKind.TIME_OF_DAY;
      case DATE_AND_TIME -> LiteralKind.DATE_AND_TIME;
      default -> throw new AssertionError("no literal: " + token.getType());
    };
  }

  static char areaOf(String text) {
    char c = text.length() > 1 ? Character.toUpperCase(text.charAt(1)) : 0;
    return c == 'I' || c == 'Q' || c == 'M' ? c : 0;
  }

  /** What a direct variable says, or a relative address; empty if it is malformed. */
  static Optional<DirectAddress> address(SourceText source, Token token, boolean relative) {
    Span span = new Span(source, token.getStartIndex(), token.getStopIndex() + 1);
    String text = span.text().toUpperCase(Locale.ROOT);
    char area = areaOf(text);
    int at = area == 0 ? 1 : 2;
    char size = at < text.length() && "XBWDL".indexOf(text.charAt(at)) >= 0 ? text.charAt(at++) : 0;
    boolean incomplete = text.endsWith("*") && at == text.length() - 1;
    if (!(area != 0 || (relative && size != 0)) || (incomplete && area == 0)) {
      return Optional.empty();
    }
    List<Integer> levels = new ArrayList<>();
    while (!incomplete) {
      int dot = text.indexOf('.', at);
      int end = dot < 0 ? text.length() : dot;
      if (end == at || end - at > 9) {
        return Optional.empty();
      }
      int level = 0;
      for (int i = at; i < end; i++) {
        if (text.charAt(i) < '0' || text.charAt(i) > '9') {
          return Optional.empty();
        }
        level = level * 10 + text.charAt(i) - '0';
      }
      levels.add(level);
      if (dot < 0) {
        break;
      }
      at = dot + 1;
    }
    return Optional.of(new DirectAddress(span, area, size, levels, incomplete));
  }
}
