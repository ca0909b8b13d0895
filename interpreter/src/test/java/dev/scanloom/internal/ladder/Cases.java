package dev.scanloom.internal.ladder;

import dev.scanloom.diagnostic.Diagnostic;
import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import dev.scanloom.internal.syntax.Problems;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URISyntaxException;
import java.net.URL;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.stream.Stream;

/** Test files: header lines {@code key: value}, a line {@code ---}, the drawing. */
final class Cases {
  /** One file. */
  record Case(String name, List<String[]> header, String drawing) {
    List<String> all(String key) {
      List<String> values = new ArrayList<>();
      for (String[] h : header) {
        if (h[0].equals(key)) {
          values.add(h[1]);
        }
      }
      return values;
    }

    @Override
    public String toString() {
      return name;
    }
  }

  /** A drawing and what was said about it. */
  record Result(Drawing drawing, List<Diagnostic> diagnostics) {
    List<String> places() {
      return diagnostics.stream().map(d -> d.span().line() + ":" + d.span().column() + " " + d.severity().word() + " " + d.code()).toList();
    }
  }

  private Cases() {}

  static List<Case> in(String folder) {
    URL url = Cases.class.getResource("/ladder/" + folder);
    try (Stream<Path> files = Files.list(Path.of(url.toURI()))) {
      return files.sorted().map(Cases::load).toList();
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    } catch (URISyntaxException e) {
      throw new IllegalStateException(e);
    }
  }

  private static Case load(Path file) {
    try {
      String text = Files.readString(file);
      int cut = text.indexOf("\n---\n");
      List<String[]> header = new ArrayList<>();
      for (String line : text.substring(0, cut).split("\n")) {
        int colon = line.indexOf(": ");
        if (colon < 0) {
          throw new IllegalStateException(file + ": no key in " + line);
        }
        header.add(new String[] {line.substring(0, colon), line.substring(colon + 2)});
      }
      return new Case(file.getFileName().toString(), header, text.substring(cut + 5));
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  static Result read(String text) {
    SourceText source = SourceText.of("drawing", text);
    Problems problems = new Problems(10_000);
    Drawing drawing = new LadderReader(problems, new StandInExpressions()).read(new Span(source, 0, source.length()));
    return new Result(drawing, problems.sorted());
  }
}
