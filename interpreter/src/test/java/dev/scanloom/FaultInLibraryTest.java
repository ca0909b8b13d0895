package dev.scanloom;

import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.library.Library;
import dev.scanloom.library.NativeBody;
import dev.scanloom.policy.CostModel;
import dev.scanloom.policy.Execution;
import dev.scanloom.policy.ScanPolicy;
import java.util.List;
import java.util.Optional;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** A fault inside a library's body tells the place of the call in the user's program, and behind it the place in the library. */
class FaultInLibraryTest {
  private static final Library SHARES = new Library() {
    @Override
    public String name() {
      return "shares";
    }

    @Override
    public List<String> names() {
      return List.of("Looping", "Share", "ShareOfShare");
    }

    @Override
    public Optional<SourceText> declaration(String name) {
      String text = switch (name) {
        case "SHARE" -> "FUNCTION Share : INT VAR_INPUT whole, parts : INT; END_VAR\n  Share := whole / parts;\nEND_FUNCTION";
        case "SHAREOFSHARE" -> "FUNCTION ShareOfShare : INT VAR_INPUT whole, parts : INT; END_VAR\n  ShareOfShare := Share(Share(whole, 2), parts);\nEND_FUNCTION";
        // with a loop it is called, not written into its caller
        case "LOOPING" -> "FUNCTION_BLOCK Looping VAR_INPUT parts : INT; END_VAR VAR i, n : INT; END_VAR\n  FOR i := 1 TO 3 DO n := n + Share(7, parts); END_FOR;\n"
            + "END_FUNCTION_BLOCK";
        default -> null;
      };
      return Optional.ofNullable(text).map(t -> SourceText.of(name.toLowerCase(java.util.Locale.ROOT) + ".st", t));
    }

    @Override
    public Optional<NativeBody> body(String name) {
      return Optional.empty();
    }
  };

  private static Fault fault(Execution e, String statement) {
    Controller c = Compiler.standard().withLibrary(SHARES).compile("mill.st", "FUNCTION Mine : INT VAR_INPUT n : INT; END_VAR\n  Mine := Share(8, n);\n"
        + "END_FUNCTION\nPROGRAM Mill VAR a, b : INT; loop : Looping; END_VAR\n  b := Share(6, 3);\n  loop(parts := 1);\n" + statement + "\nEND_PROGRAM").orThrow()
        .newController(ScanPolicy.image().withExecution(e).withCosts(CostModel.zero()).withoutDisplays());
    assertThat(c.scan()).isFalse();
    assertThat(c.executionInUse()).startsWith(e == Execution.COMPILED ? "compiled" : "stepping");
    return c.fault().orElseThrow();
  }

  @ParameterizedTest
  @EnumSource(value = Execution.class, names = {"STEPPING", "COMPILED"})
  void thePlaceIsThatOfTheCall(Execution e) {
    Fault direct = fault(e, "  a := Share(5, a);");
    assertThat(direct.span().place()).startsWith("mill.st:7:");
    assertThat(direct.library().orElseThrow().place()).startsWith("share.st:2:");
    assertThat(direct.oneLine()).startsWith("mill.st:7:").contains("(in share.st:2:").endsWith("[fault/division-by-zero]");
    assertThat(direct.variables()).contains("a");

    Fault nested = fault(e, "  b := 1; a := ShareOfShare(5, a);");
    assertThat(nested.span().text()).contains("ShareOfShare");
    assertThat(nested.library().orElseThrow().place()).startsWith("share.st:2:");

    Fault own = fault(e, "  a := Mine(a);");
    assertThat(own.span().place()).as("the innermost step of the user's program").startsWith("mill.st:2:");

    Fault called = fault(e, "  loop(parts := a);");
    assertThat(called.span().place()).startsWith("mill.st:7:");
    assertThat(called.library().orElseThrow().place()).startsWith("share.st:2:");

    Fault plain = fault(e, "  a := 4 / a;");
    assertThat(plain.span().place()).startsWith("mill.st:7:");
    assertThat(plain.library()).isEmpty();
    assertThat(plain.oneLine()).doesNotContain("(in ");
  }
}
