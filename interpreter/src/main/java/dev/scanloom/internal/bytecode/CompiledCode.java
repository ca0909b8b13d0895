package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import java.lang.invoke.MethodHandles;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.objectweb.asm.ClassTooLargeException;
import org.objectweb.asm.MethodTooLargeException;

/** The translation of a program, shared by all its controllers. Immutable. */
public final class CompiledCode {
  private static final Pattern METHOD = Pattern.compile("method: (b\\d+\\w*)");

  private final Entry entry;
  private final Sites sites;
  private final int[] inputWords;
  private final int classBytes;

  private CompiledCode(Entry entry, Sites sites, int[] inputWords, int classBytes) {
    this.entry = entry;
    this.sites = sites;
    this.inputWords = inputWords;
    this.classBytes = classBytes;
  }

  /**
   * Translates a program into a hidden class, for policies that watch reads of inputs or writes of outputs, or do not. Bodies with a statement too long for a
   * method of the JVM are left to the stepping executor.
   */
  public static CompiledCode of(Code code, boolean watchesReads, boolean watchesWrites, int callDepth) {
    TreeSet<Integer> left = new TreeSet<>();
    while (true) {
      Translator translator = new Translator(code, left, watchesReads, watchesWrites, callDepth);
      try {
        return define(translator.write(), translator.sites(), translator.inputWords());
      } catch (MethodTooLargeException e) {
        left.add(Translator.bodyOf(e.getMethodName()));
      } catch (ClassTooLargeException e) {
        leaveAll(code, left);
      } catch (VerifyError e) {
        // A mistake of the translator must not be the host's: the body that the JVM refuses is stepped.
        Matcher method = METHOD.matcher(String.valueOf(e.getMessage()));
        if (!method.find() || !left.add(Translator.bodyOf(method.group(1)))) {
          leaveAll(code, left);
        }
      }
    }
  }

  private static void leaveAll(Code code, TreeSet<Integer> left) {
    for (int i = 0; i < code.bodies().size(); i++) {
      left.add(i);
    }
  }

  private static CompiledCode define(byte[] bytes, Sites sites, int[] inputWords) {
    try {
      Class<?> c = MethodHandles.lookup().defineHiddenClass(bytes, true).lookupClass();
      return new CompiledCode((Entry) c.getDeclaredConstructor().newInstance(), sites, inputWords, bytes.length);
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException("the generated class cannot be used", e);
    }
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
