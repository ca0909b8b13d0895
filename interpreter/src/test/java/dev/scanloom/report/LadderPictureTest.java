package dev.scanloom.report;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Compiler;
import dev.scanloom.Controller;
import dev.scanloom.policy.ScanPolicy;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.junit.jupiter.api.Test;

/** What an engineer expects of a drawn network (common practice): joints have dots, crossings none; a negated pin has a circle; names stand where they belong. */
class LadderPictureTest {

  private static String picture(String... lines) {
    CompiledProgram p = Compiler.standard().compile("picture.st", String.join("\n", lines)).orThrow();
    Recordings all = new Recordings(p);
    Controller c = p.newController(ScanPolicy.image());
    Recordings.Run run = all.record("image", c);
    c.scan();
    return Pictures.ladder(all, run, 1, "screen");
  }

  /** Twice the number in one network: the picture shows it as executed and as painted. */
  private static int count(String svg, String regex) {
    Matcher m = Pattern.compile(regex).matcher(svg);
    int n = 0;
    while (m.find()) {
      n++;
    }
    return n / 2;
  }

  @Test
  void linksThatJoinHaveADotAndLinksThatCrossHaveNone() {
    String svg = picture("PROGRAM P VAR a, c, d, x, y : BOOL; END_VAR",
        "|   a                    x   |", "+--| |--+---------+-----( )--+", "|       |   d     |      y   |", "|       +--| |----|-----( )--+",
        "|   c             |          |", "+--| |------------+          |", "END_PROGRAM");
    assertThat(count(svg, "class=\"joint\"")).isEqualTo(2);
    assertThat(count(svg, "class=\"ring\"")).isZero();
  }

  @Test
  void aPlainNetworkHasNoDots() {
    assertThat(count(picture("PROGRAM P VAR a, x : BOOL; END_VAR", "|   a        x   |", "+--| |------( )--+", "END_PROGRAM"), "<circle")).isZero();
  }

  @Test
  void negatedPinsHaveCirclesAndInstancesTheirNameAboveTheBox() {
    String svg = picture("FUNCTION_BLOCK Gate VAR_INPUT a : BOOL; END_VAR VAR_OUTPUT q : BOOL; n : INT; END_VAR q := a; END_FUNCTION_BLOCK",
        "PROGRAM P VAR lock : Gate; p, z : BOOL; k : INT; END_VAR",
        "|             lock             |", "|          +-------+           |", "|    p     | Gate  |       z   |", "+---| |---O|a     q|O-----( )--+",
        "|          |      n|---k       |", "|          +-------+           |", "END_PROGRAM");
    assertThat(count(svg, "class=\"ring\"")).isEqualTo(2);
    assertThat(count(svg, "class=\"joint\"")).isZero();
    Matcher box = Pattern.compile("<rect class=\"box\" x=\"([\\d.]+)\" y=\"([\\d.]+)\"").matcher(svg);
    assertThat(box.find()).isTrue();
    Matcher name = Pattern.compile("<text[^>]* y=\"([\\d.]+)\"[^>]*>lock<").matcher(svg);
    assertThat(name.find()).as(svg).isTrue();
    assertThat(Double.parseDouble(name.group(1))).isLessThan(Double.parseDouble(box.group(2)));
    assertThat(svg).contains(">Gate<").doesNotContain("lock : Gate");
  }

  @Test
  void connectorsShowTheirNamesAndComparisonsTheirSigns() {
    String svg = picture("PROGRAM P VAR a, x : BOOL; n : INT; END_VAR",
        "|   a                     |", "+--| |------>Far>         |", "|             n       x   |", "|     >Far>--|>=|----( )--+",
        "|             3           |", "END_PROGRAM");
    assertThat(count(svg, ">&gt;Far&gt;<")).isEqualTo(2);
    assertThat(count(svg, ">&gt;=<")).isEqualTo(1);
    assertThat(svg).doesNotContain(">GE<");
  }
}
