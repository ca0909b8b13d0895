package dev.scanloom.benchmarks;

import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;

/** What is computed. The texts of all but the networks are resources, one a language. */
public enum Workload {
  /** 1,000 Boolean networks, drawn. */
  LADDER(1_000, 4),
  /** The same in Structured Text. */
  RUNGS(1_000, 4),
  /** 64 closed loops in LREAL: controller block and plant. */
  PID(128, 1),
  /** 200 each of TON, CTU and R_TRIG, in arrays. */
  TIMERS(400, 4),
  /** A CRC by table over a buffer of bytes, a filter and a sort over arrays of integers. */
  INTEGERS(66, 1);

  static final Rungs NETWORKS = new Rungs(1_000, Stimulus.INPUTS);
  final int outputs;
  /** Words of 64 inputs. */
  final int inputWords;

  Workload(int outputs, int inputWords) {
    this.outputs = outputs;
    this.inputWords = inputWords;
  }

  private boolean isNetworks() {
    return this == LADDER || this == RUNGS;
  }

  String st() {
    return this == LADDER ? NETWORKS.ladder() : this == RUNGS ? NETWORKS.st() : resource("st");
  }

  String javaScript() {
    return isNetworks() ? NETWORKS.javaScript() : resource("js");
  }

  String lua() {
    return isNetworks() ? NETWORKS.lua() : resource("lua");
  }

  /** Path of output {@code i} in the program. */
  String output(int i) {
    return switch (this) {
      case LADDER, RUNGS -> "c[" + i + "]";
      case PID -> i < 64 ? "loops[" + i + "].y" : "pv[" + (i - 64) + "]";
      case TIMERS -> i < 200 ? "delay[" + i + "].ET" : "count[" + (i - 200) + "].CV";
      case INTEGERS -> i == 0 ? "crc" : i == 1 ? "median" : "mean[" + (i - 2) + "]";
    };
  }

  private String resource(String language) {
    String name = name().toLowerCase(java.util.Locale.ROOT) + "." + language;
    try (InputStream in = Workload.class.getResourceAsStream(name)) {
      return new String(in.readAllBytes(), StandardCharsets.UTF_8);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
