package dev.scanloom;

/** Verbs that all places share. */
abstract class Values {
  private static UnsupportedOperationException later() {
    return new UnsupportedOperationException("not written yet");
  }

  public boolean get(Variable.Bool variable) {
    throw later();
  }

  public long get(Variable.Integer variable) {
    throw later();
  }

  public double get(Variable.Real variable) {
    throw later();
  }

  public String get(Variable.Text variable) {
    throw later();
  }

  public long bits(Variable variable) {
    throw later();
  }

  public String text(Variable variable) {
    throw later();
  }

  public void set(Variable.Bool variable, boolean value) {
    throw later();
  }

  public void set(Variable.Integer variable, long value) {
    throw later();
  }

  public void set(Variable.Real variable, double value) {
    throw later();
  }

  public void set(Variable.Text variable, String value) {
    throw later();
  }

  public void setText(Variable variable, String literal) {
    throw later();
  }

  public void setTextAt(long time, Variable variable, String literal) {
    throw later();
  }

  public void setAt(long time, Variable.Bool variable, boolean value) {
    throw later();
  }

  public void setAt(long time, Variable.Integer variable, long value) {
    throw later();
  }

  public void setAt(long time, Variable.Real variable, double value) {
    throw later();
  }
}
