package dev.scanloom;

import static dev.scanloom.Runs.compile;
import static dev.scanloom.Runs.still;
import static org.assertj.core.api.Assertions.assertThat;

import dev.scanloom.policy.RetainStore;
import dev.scanloom.policy.ScanPolicy;
import java.io.BufferedReader;
import java.io.IOException;
import java.io.InputStreamReader;
import java.nio.charset.StandardCharsets;
import java.nio.file.Path;
import java.util.Random;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/**
 * A process that scans and stores retained memory is killed at random moments; every restart must find a whole state, the old one or the new one. The
 * number of kills is the system property {@code scanloom.kills} (20).
 */
class RetainKillTest {
  private static final String[] PROGRAM = {
    "PROGRAM Meter VAR RETAIN First : DINT; Copies : ARRAY [1..2000] OF DINT; Note : STRING[12]; Last : DINT; END_VAR VAR i : DINT; END_VAR",
    "First := First + 1; FOR i := 1 TO 2000 DO Copies[i] := First; END_FOR; IF First MOD 2 = 0 THEN Note := 'even'; ELSE Note := 'odd'; END_IF; Last := First;",
    "END_PROGRAM"};

  private static Controller meter() {
    return compile(PROGRAM).newController(still(ScanPolicy.image(), 10));
  }

  /** The process that is killed. */
  public static final class Victim {
    private Victim() {}

    public static void main(String[] args) throws IOException {
      RetainStore store = RetainStore.file(Path.of(args[0]));
      Controller c = meter();
      c.load(store);
      Variable.Integer last = c.integer("Last");
      System.out.println("found " + c.memory().get(last));
      while (c.scan()) {
        c.save(store);
        System.out.println("stored " + c.memory().get(last));
        System.out.flush();
      }
    }
  }

  @Test
  void everyKillLeavesAWholeState(@TempDir Path folder) throws IOException, InterruptedException {
    int kills = Integer.getInteger("scanloom.kills", 20);
    Random random = new Random(61131);
    Path file = folder.resolve("meter.retain");
    long known = 0;
    int between = 0;
    for (int k = 0; k < kills; k++) {
      Process victim = new ProcessBuilder(Path.of(System.getProperty("java.home"), "bin", "java").toString(), "-XX:TieredStopAtLevel=1", "-Xshare:auto",
          "-cp", System.getProperty("java.class.path"), Victim.class.getName(), file.toString()).redirectErrorStream(true).start();
      long told = known;
      int wait = random.nextInt(12);
      long pause = random.nextInt(6_000_000);
      try (BufferedReader out = new BufferedReader(new InputStreamReader(victim.getInputStream(), StandardCharsets.US_ASCII))) {
        StringBuilder other = new StringBuilder();
        for (String line = out.readLine(); line != null; line = out.readLine()) {
          if (line.startsWith("found ")) {
            assertThat(Long.parseLong(line.substring(6))).as("kill %s: what the restart found", k).isEqualTo(known);
          } else if (line.startsWith("stored ")) {
            told = Long.parseLong(line.substring(7));
          } else {
            other.append(line).append('\n');
          }
          if (wait-- <= 0 && victim.isAlive()) {
            TimeUnit.NANOSECONDS.sleep(pause);
            // by its handle: that leaves what it has written readable
            victim.toHandle().destroyForcibly();
          }
        }
        assertThat(other.toString()).as("the process says nothing else").isEmpty();
      }
      assertThat(victim.waitFor(60, TimeUnit.SECONDS)).isTrue();
      Controller c = meter();
      Transfer t = c.load(RetainStore.file(file));
      long first = c.memory().get(c.integer("First"));
      assertThat(first).as("kill %s: nothing that was stored is lost, and at most one more was on its way", k).isBetween(told, told + 1);
      if (first > 0) {
        assertThat(t.initialized()).isEmpty();
      }
      assertThat(c.memory().get(c.integer("Last"))).isEqualTo(first);
      assertThat(c.memory().get(c.text("Note"))).isEqualTo(first == 0 ? "" : first % 2 == 0 ? "even" : "odd");
      for (int i = 1; i <= 2_000; i++) {
        assertThat(c.memory().get(c.integer("Copies[" + i + "]"))).as("kill %s, element %s", k, i).isEqualTo(first);
      }
      between += first == told + 1 ? 1 : 0;
      known = first;
    }
    System.out.println("kills: " + kills + ", scans stored: " + known + ", killed between the move and the report: " + between);
    assertThat(known).as("the processes did get to work").isGreaterThan(kills / 4);
  }
}
