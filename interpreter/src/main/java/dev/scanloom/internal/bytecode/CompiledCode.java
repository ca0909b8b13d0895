package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import java.lang.invoke.MethodHandles;

/** The translation of a program, shared by all its controllers. Immutable. */
public final class CompiledCode {
  private final Entry entry;
  private final Blocks blocks;
  private final int classBytes;

  private CompiledCode(Entry entry, Blocks blocks, int classBytes) {
    this.entry = entry;
    this.blocks = blocks;
    this.classBytes = classBytes;
  }

  /** Translates a program into a hidden class. */
  public static CompiledCode of(Code code) {
    Blocks blocks = new Blocks(code);
    byte[] bytes = new Translator(code, blocks).write();
    try {
      Class<?> c = MethodHandles.lookup().defineHiddenClass(bytes, true).lookupClass();
      return new CompiledCode((Entry) c.getDeclaredConstructor().newInstance(), blocks, bytes.length);
    } catch (ReflectiveOperationException e) {
      throw new IllegalStateException("the generated class cannot be used", e);
    }
  }

  Entry entry() {
    return entry;
  }

  Blocks blocks() {
    return blocks;
  }

  /** Size of the generated class file in bytes. */
  public int classBytes() {
    return classBytes;
  }
}
