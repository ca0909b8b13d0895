package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Deque;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.concurrent.TimeUnit;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;

/** Value change dumps read back by a small reader of the format (IEEE 1364-2005, clause 18, from memory), and by a general-purpose one where it is there. */
class WaveformTest {
  @TempDir Path folder;

  /** Values of every signal by full name: {@code time=value} in order. */
  private static Map<String, List<String>> read(String vcd) {
    Map<String, String> names = new LinkedHashMap<>();
    Map<String, List<String>> changes = new LinkedHashMap<>();
    Deque<String> scope = new ArrayDeque<>();
    String[] words = vcd.trim().split("\\s+");
    long time = 0;
    long last = -1;
    boolean defined = false;
    for (int i = 0; i < words.length; i++) {
      String w = words[i];
      if (!defined) {
        switch (w) {
          case "$comment", "$timescale" -> {
            while (!words[i].equals("$end")) {
              i++;
            }
          }
          case "$scope" -> {
            scope.addLast(words[i + 2]);
            assertThat(words[i + 3]).isEqualTo("$end");
            i += 3;
          }
          case "$upscope" -> {
            scope.removeLast();
            i++;
          }
          case "$var" -> {
            assertThat(List.of("wire", "real", "integer")).contains(words[i + 1]);
            assertThat(words[i + 5]).isEqualTo("$end");
            assertThat(names.put(words[i + 3], String.join(".", scope) + "." + words[i + 4])).as("identifier used twice").isNull();
            i += 5;
          }
          case "$enddefinitions" -> {
            defined = true;
            i++;
          }
          default -> throw new AssertionError("in the definitions: " + w);
        }
        continue;
      }
      if (w.startsWith("#")) {
        time = Long.parseLong(w.substring(1));
        assertThat(time).isGreaterThan(last);
        last = time;
      } else if (!w.startsWith("$")) {
        boolean scalar = "01xz".indexOf(w.charAt(0)) >= 0;
        String id = scalar ? w.substring(1) : words[++i];
        assertThat(names).containsKey(id);
        changes.computeIfAbsent(names.get(id), k -> new ArrayList<>()).add(time + "=" + (scalar ? w.substring(0, 1) : w.substring(1)));
      }
    }
    assertThat(scope).isEmpty();
    return changes;
  }

  private String dump() throws Exception {
    String st = Cli.file(folder, "w.st", """
        PROGRAM Main
        VAR in AT %IX0.0 : BOOL; out AT %QX0.0 : BOOL; n : INT := -1; r : REAL; s : STRING := 'x y'; t : TIME; a : ARRAY [1..2] OF BYTE; END_VAR
          out := in; n := n + 1; r := r + 0.5; t := t + T#1ms; a[2] := 16#81;
        END_PROGRAM
        """);
    String csv = Cli.file(folder, "w.csv", "scan,in\n2,TRUE\n3,FALSE\n");
    Path vcd = folder.resolve("w.vcd");
    Cli cli = Cli.run("run", st, "--scans", "3", "--period", "10ms", "--inputs", csv, "--watch", "out", "--vcd", vcd.toString());
    assertThat(cli.err()).isEmpty();
    return Files.readString(vcd);
  }

  /** Expectations by hand: scans at 0, 10 and 20 ms; zero costs, so that all of a scan happens at its start. */
  @Test
  void holdsEveryPlaceOverTime() throws Exception {
    String vcd = dump();
    assertThat(vcd).contains("$timescale 1 ns $end").contains("strings left out: s ");
    Map<String, List<String>> c = read(vcd);
    assertThat(c.get("field.out")).containsExactly("0=0", "10000000=1", "20000000=0");
    assertThat(c.get("memory.n")).containsExactly("0=1111111111111111", "0=0", "10000000=1", "20000000=10");
    assertThat(c.get("memory.r")).containsExactly("0=0.0", "0=0.5", "10000000=1.0", "20000000=1.5");
    assertThat(c.get("memory.t")).endsWith("20000000=" + Long.toBinaryString(3_000_000));
    assertThat(c.get("memory.a(2)")).startsWith("0=0", "0=10000001");
    assertThat(c.get("scan.number")).containsExactly("0=0", "0=1", "10000000=10", "20000000=11");
    assertThat(c.get("memory.in").get(c.get("memory.in").size() - 1)).isEqualTo("20000000=0");
  }

  @Test
  void aGeneralPurposeReaderAcceptsIt() throws Exception {
    Path reader = Path.of("/usr/bin/vcd2fst");
    if (!Files.isExecutable(reader)) {
      System.out.println("SKIPPED: WaveformTest.aGeneralPurposeReaderAcceptsIt needs vcd2fst (Debian package gtkwave); it is not installed here");
    }
    Assumptions.assumeTrue(Files.isExecutable(reader), "no vcd2fst");
    dump();
    Path fst = folder.resolve("w.fst");
    Process p = new ProcessBuilder(reader.toString(), folder.resolve("w.vcd").toString(), fst.toString()).redirectErrorStream(true).start();
    String said = new String(p.getInputStream().readAllBytes(), java.nio.charset.StandardCharsets.UTF_8);
    assertThat(p.waitFor(30, TimeUnit.SECONDS)).isTrue();
    assertThat(p.exitValue()).as(said).isZero();
    assertThat(fst).exists();
    assertThat(Files.size(fst)).isPositive();
  }
}
