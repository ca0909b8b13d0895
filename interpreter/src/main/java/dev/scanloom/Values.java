package dev.scanloom;

import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.value.Arith;
import dev.scanloom.internal.value.ValueText;
import dev.scanloom.model.ElementaryType;

/** Verbs that all places share, over what they hold. */
abstract class Values {
  private final CompiledProgram program;

  Values(CompiledProgram program) {
    this.program = program;
  }

  /** Slot value of a scalar. */
  abstract long read(Variable v);

  /** Characters of a string. */
  abstract int[] readText(Variable.Text v);

  /** Sets a scalar to a checked slot value, at a time. */
  abstract void write(long time, Variable v, long value);

  /** Sets a string, at a time. */
  abstract void writeText(long time, Variable.Text v, int[] units);

  private void mine(Variable v) {
    if (v.program() != program) {
      throw new IllegalArgumentException(v.path() + " is a variable of another program");
    }
  }

  public boolean get(Variable.Bool variable) {
    return bits(variable) != 0;
  }

  public long get(Variable.Integer variable) {
    return bits(variable);
  }

  public double get(Variable.Real variable) {
    long bits = bits(variable);
    return variable.type() == ElementaryType.REAL ? Arith.real(bits) : Arith.lreal(bits);
  }

  public String get(Variable.Text variable) {
    mine(variable);
    StringBuilder b = new StringBuilder();
    for (int u : readText(variable)) {
      if (variable.type() == ElementaryType.USTRING && Character.isValidCodePoint(u)) {
        b.appendCodePoint(u);
      } else {
        b.append((char) u);
      }
    }
    return b.toString();
  }

  public long bits(Variable variable) {
    mine(variable);
    if (variable instanceof Variable.Text) {
      throw new IllegalArgumentException(variable.path() + " is a string; it has no slot value");
    }
    return read(variable);
  }

  public String text(Variable variable) {
    mine(variable);
    return variable instanceof Variable.Text t ? ValueText.of(readText(t), t.type()) : variable.format(read(variable));
  }

  public void set(Variable.Bool variable, boolean value) {
    setAt(0, variable, value);
  }

  public void set(Variable.Integer variable, long value) {
    setAt(0, variable, value);
  }

  public void set(Variable.Real variable, double value) {
    setAt(0, variable, value);
  }

  public void set(Variable.Text variable, String value) {
    setAt(0, variable, value);
  }

  public void setText(Variable variable, String literal) {
    setTextAt(0, variable, literal);
  }

  public void setTextAt(long time, Variable variable, String literal) {
    mine(variable);
    if (variable.shape() instanceof Shape.Text t) {
      writeText(time, (Variable.Text) variable, IecLiteral.text(literal, t));
    } else {
      write(time, variable, variable.parse(literal));
    }
  }

  public void setAt(long time, Variable.Bool variable, boolean value) {
    mine(variable);
    write(time, variable, value ? 1 : 0);
  }

  public void setAt(long time, Variable.Integer variable, long value) {
    mine(variable);
    write(time, variable, variable.checked(value));
  }

  public void setAt(long time, Variable.Real variable, double value) {
    mine(variable);
    write(time, variable, variable.type() == ElementaryType.REAL ? Arith.real((float) value) : Arith.lreal(value));
  }

  public void setAt(long time, Variable.Text variable, String value) {
    mine(variable);
    int[] units = variable.type() == ElementaryType.USTRING ? value.codePoints().toArray() : value.chars().toArray();
    if (units.length > variable.capacity()) {
      throw new IllegalArgumentException("the string has " + units.length + " characters; " + variable + " holds " + variable.capacity());
    }
    if (variable.type() == ElementaryType.STRING) {
      for (int u : units) {
        if (u > 0xFF) {
          throw new IllegalArgumentException("character " + Integer.toHexString(u) + " (hexadecimal) has no code in STRING");
        }
      }
    }
    writeText(time, variable, units);
  }

  /** The variable lies at terminals. */
  static void needTerminal(Variable v) {
    if (!v.isLocated() || Address.area(v.address()) == 3) {
      throw new IllegalArgumentException(v.path() + " is not located at %I or %Q; the field has no value for it");
    }
  }
}
