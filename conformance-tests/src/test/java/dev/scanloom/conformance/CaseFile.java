package dev.scanloom.conformance;

import java.nio.file.Path;
import java.util.List;
import java.util.Map;
import java.util.Optional;

/**
 * One conformance case, as read from its file by {@link CaseReader}. Immutable. Lines and columns count from 1, columns in code points.
 *
 * @param path the file
 * @param id folder and file name without {@code .st}, such as {@code T46/ton_waits}
 * @param text the whole file: what is compiled
 * @param title one line: what the case shows
 * @param features ids of features.tsv that the case proves; empty only outside the tables' folders
 * @param source where the expected values come from
 * @param period virtual time between two scans, as an IEC literal
 * @param policy the scan policy: {@code image}, {@code immediate} or {@code asynchronous(T#3ms)}
 * @param costs what steps cost in virtual time: {@code zero} or {@code standard}
 * @param displays display settings, one per {@code display} key
 * @param profile implementer-specific choices that differ from the defaults, by component name
 * @param seed seed of the policies
 * @param executors names of the executors to run; empty for all
 * @param either freedoms of the standard: one of several outcomes
 * @param skip why the case is known to fail; empty when it is not
 * @param program main program when the file has several
 * @param diagnostics announced diagnostics
 * @param fault the announced fault
 * @param rows rows of the timeline
 * @param values single values after a scan
 * @param scans number of scans to run; 0 for a case about checking only
 */
record CaseFile(
    Path path,
    String id,
    String text,
    String title,
    List<String> features,
    String source,
    String period,
    String policy,
    String costs,
    List<String> displays,
    Map<String, String> profile,
    long seed,
    List<String> executors,
    List<Either> either,
    Optional<String> skip,
    Optional<String> program,
    List<Announced> diagnostics,
    Optional<AnnouncedFault> fault,
    List<Row> rows,
    List<Value> values,
    int scans) {

  /** A diagnostic that must come: {@code length} 0 asserts the start only. */
  record Announced(String code, int line, int column, int length) {
    @Override
    public String toString() {
      return code + " at " + line + ":" + column + (length > 0 ? " over " + length : "");
    }
  }

  /** A fault that must come. */
  record AnnouncedFault(String code, int scan, int line) {
    @Override
    public String toString() {
      return code + " at scan " + scan + ", line " + line;
    }
  }

  /** What a row of the timeline is about. */
  enum RowKind { STIMULUS, MEMORY, FIELD, FIELD_STIMULUS, DISPLAY, RESTART, FORCE }

  /** One row: a cell per scan, {@code null} where nothing is said. */
  record Row(RowKind kind, String path, String display, List<String> cells, int line) {}

  /** One value that memory must hold after a scan. */
  record Value(String path, String literal, int scan, int line) {}

  /** One of several outcomes, the same in every run. */
  record Either(String path, List<String> literals, int scan) {}

  /** True when the case expects a diagnostic or a fault. */
  boolean isNegative() {
    return !diagnostics.isEmpty() || fault.isPresent();
  }

  /** The folder below {@code cases}: {@code T46}. */
  String folder() {
    return id.substring(0, id.indexOf('/'));
  }
}
