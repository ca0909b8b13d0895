package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import java.lang.invoke.MethodHandles;
import java.util.ArrayList;
import java.util.List;
import java.util.TreeMap;
import java.util.function.UnaryOperator;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.objectweb.asm.ClassTooLargeException;
import org.objectweb.asm.MethodTooLargeException;

/** The translation of a program, shared by all its controllers. Immutable. */
public final class CompiledCode {
  private static final Pattern METHOD = Pattern.compile("method: (\\w+)");
  private static final Pattern BODY = Pattern.compile("b(\\d+)([cg]\\d+)?");
  /** Bodies named in the report of what is stepped. */
  private static final int NAMED = 5;
  private static final String TOO_LARGE = "it is too large for the JVM";

  private final Entry entry;
  private final Sites sites;
  private final int[] inputWords;
  private final int classBytes;
  private final String inUse;

  private CompiledCode(Entry entry, Sites sites, int[] inputWords, int classBytes, String inUse) {
    this.entry = entry;
    this.sites = sites;
    this.inputWords = inputWords;
    this.classBytes = classBytes;
    this.inUse = inUse;
  }

  /**
   * Translates a program into a hidden class, for policies that watch reads of inputs or writes of outputs, or do not. Bodies that the JVM cannot take, because
   * of a statement too long for a method or a mistake of the translator, are left to the stepping executor: see {@link #inUse()}.
   */
  public static CompiledCode of(Code code, boolean watchesReads, boolean watchesWrites, int callDepth) {
    return of(code, watchesReads, watchesWrites, callDepth, null);
  }

  /** {@code classes} changes the class file, for tests of what happens to a wrong one; null: it stays. */
  static CompiledCode of(Code code, boolean watchesReads, boolean watchesWrites, int callDepth, UnaryOperator<byte[]> classes) {
    TreeMap<Integer, String> left = new TreeMap<>();
    while (true) {
      Translator translator = new Translator(code, left.keySet(), watchesReads, watchesWrites, callDepth);
      String method;
      String reason;
      try {
        byte[] written = translator.write();
        byte[] bytes = classes == null ? written : classes.apply(written);
        return new CompiledCode(define(bytes), translator.sites(), translator.inputWords(), bytes.length, report(code, left));
      } catch (MethodTooLargeException e) {
        method = e.getMethodName();
        reason = TOO_LARGE;
      } catch (ClassTooLargeException e) {
        method = "";
        reason = TOO_LARGE;
      } catch (LinkageError e) {
        // A mistake of the translator must not be the host's.
        Matcher named = METHOD.matcher(String.valueOf(e.getMessage()));
        method = named.find() ? named.group(1) : "";
        reason = "the JVM refuses its code: " + e.getClass().getSimpleName();
      }
      Matcher body = BODY.matcher(method);
      if (!body.matches() || left.putIfAbsent(Integer.parseInt(body.group(1)), reason) != null) {
        // None can be blamed: all are stepped.
        Entry all = (number, memory, self, frame, run) -> run.body(number, self, frame, 0, 0);
        return new CompiledCode(all, new Sites(), new int[0], 0, "stepping: " + reason);
      }
    }
  }

  private static Entry define(byte[] bytes) {
    try {
      return (Entry) MethodHandles.lookup().defineHiddenClass(bytes, true).lookupClass().getDeclaredConstructor().newInstance();
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException("the generated class cannot be used", e);
    }
  }

  private static String report(Code code, TreeMap<Integer, String> left) {
    List<String> all = new ArrayList<>();
    left.forEach((body, reason) -> {
      if (all.size() < NAMED) {
        all.add(code.bodies().get(body).name() + ": " + reason);
      }
    });
    if (left.size() > NAMED) {
      all.add(left.size() - NAMED + " more");
    }
    return left.isEmpty() ? "compiled" : "compiled, stepping " + String.join("; ", all);
  }

  /** {@code compiled}, maybe {@code , stepping } with bodies and why; or {@code stepping: } and why. */
  public String inUse() {
    return inUse;
  }

  Entry entry() {
    return entry;
  }

  Sites sites() {
    return sites;
  }

  /** Bytes of the input area where words begin whose bits are laid out as slots. */
  int[] inputWords() {
    return inputWords;
  }

  /** Size of the generated class file in bytes. */
  public int classBytes() {
    return classBytes;
  }
}
