package dev.scanloom.internal.ladder;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.Diagnostic;
import java.util.ArrayList;
import java.util.List;
import java.util.Random;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.constraints.IntRange;

/**
 * Whatever the characters: a drawing comes back, its graph is well formed, and every diagnostic has a place inside the text. Drawings with
 * blank rows between them are read like each alone.
 */
class LadderReaderProperties {
  private static final String ALPHABET = "   ---||||+++++()/<>>PNSRO:;'\"[]A1b%#.┤├─│┼\t*{}";

  private static final List<Cases.Case> PICTURES = List.copyOf(LadderPicturesTest.pictures());

  @Property(tries = 3000)
  void readsAnyGrid(@ForAll long seed, @ForAll @IntRange(min = 0, max = 24) int rows, @ForAll @IntRange(min = 1, max = 50) int columns) {
    Random random = new Random(seed);
    int kinds = 8 + random.nextInt(ALPHABET.length() - 7);
    StringBuilder text = new StringBuilder();
    for (int r = 0; r < rows; r++) {
      for (int c = 0; c < columns; c++) {
        text.append(ALPHABET.charAt(random.nextInt(kinds)));
      }
      text.append('\n');
    }
    check(text.toString());
  }

  @Property(tries = 3000)
  void readsAnyMutationOfAPicture(@ForAll long seed) {
    Random random = new Random(seed);
    StringBuilder text = new StringBuilder(PICTURES.get(random.nextInt(PICTURES.size())).drawing());
    if (random.nextBoolean()) {
      text.append(PICTURES.get(random.nextInt(PICTURES.size())).drawing());
    }
    for (int n = 1 + random.nextInt(6); n > 0 && text.length() > 1; n--) {
      int at = random.nextInt(text.length());
      char c = ALPHABET.charAt(random.nextInt(ALPHABET.length()));
      switch (random.nextInt(4)) {
        case 0 -> text.setCharAt(at, c);
        case 1 -> text.insert(at, c);
        case 2 -> text.deleteCharAt(at);
        default -> {
          int end = Math.min(text.length(), at + random.nextInt(60));
          text.insert(random.nextInt(text.length()), text.substring(at, end));
        }
      }
    }
    check(text.toString());
  }

  @Property(tries = 1000)
  void drawingsApartReadLikeEachAlone(@ForAll long seed, @ForAll @IntRange(min = 1, max = 7) int gap, @ForAll boolean rails) {
    Random random = new Random(seed);
    List<List<String>> drawings = new ArrayList<>();
    for (int n = 2 + random.nextInt(3); n > 0; n--) {
      drawings.add(unlabelled(random));
    }
    int width = drawings.stream().flatMap(List::stream).mapToInt(String::length).max().orElseThrow();
    String blank = rails ? "|" + " ".repeat(width - 2) + "|\n" : "\n";
    StringBuilder together = new StringBuilder();
    StringBuilder alone = new StringBuilder();
    int number = 0;
    for (List<String> rows : drawings) {
      String text = String.join("", rows.stream().map(r -> padded(r, width) + "\n").toList());
      together.append(text).append(blank.repeat(gap));
      for (Drawing.Network n : Cases.read(text).drawing().networks()) {
        alone.append(Graphs.text(new Drawing.Network(++number, n.span(), n.label(), n.comment(), n.elements(), n.segments())));
      }
    }
    Cases.Result r = Cases.read(together.toString());
    assertThat(r.diagnostics()).as(together::toString).isEmpty();
    assertThat(Graphs.text(r.drawing())).isEqualTo(alone.toString());
  }

  /** Rows of a drawing in which nothing jumps, without labels and comments. */
  private static List<String> unlabelled(Random random) {
    while (true) {
      Drawing d = new RandomDrawings(random.nextLong()).plainDrawing();
      if (d.networks().stream().flatMap(n -> n.elements().stream()).noneMatch(e -> e instanceof Drawing.Jump)) {
        return LadderPrinter.print(d).lines().filter(l -> l.startsWith("|") || l.startsWith("+")).toList();
      }
    }
  }

  private static String padded(String row, int width) {
    String end = row.substring(row.length() - 1);
    return row.substring(0, row.length() - 1) + (end.equals("+") ? "-" : " ").repeat(width - row.length()) + end;
  }

  private static void check(String text) {
    Cases.Result r = Cases.read(text);
    int length = text.codePointCount(0, text.length());
    for (Diagnostic d : r.diagnostics()) {
      assertThat(d.span().end()).isLessThanOrEqualTo(length);
      assertThat(d.message()).isNotBlank();
    }
    int number = 1;
    for (Drawing.Network n : r.drawing().networks()) {
      assertThat(n.number()).isEqualTo(number++);
      assertThat(n.elements()).isNotEmpty();
      for (int i = 0; i < n.elements().size(); i++) {
        Drawing.Element e = n.elements().get(i);
        assertThat(e.place().row()).isPositive();
        for (Drawing.Link link : LadderLinks.of(e)) {
          assertThat(link.sources()).isNotEmpty();
          for (Drawing.Port p : link.sources()) {
            if (p instanceof Drawing.Out o) {
              assertThat(o.element()).isBetween(0, i - 1);
              Drawing.Element source = n.elements().get(o.element());
              if (source instanceof Drawing.Box b) {
                assertThat(o.pin()).isBetween(0, b.outputs().size() - 1);
              } else {
                assertThat(source).isNotInstanceOfAny(Drawing.Jump.class, Drawing.Return.class);
                assertThat(o.pin()).isZero();
              }
            }
          }
        }
      }
    }
  }
}
