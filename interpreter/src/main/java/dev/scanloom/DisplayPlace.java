package dev.scanloom;

import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.scan.Screen;

/** What a monitoring screen holds. */
final class DisplayPlace extends Values implements Place.Display {
  private final Engine engine;
  private final Screen screen;
  private final int elements;

  DisplayPlace(CompiledProgram program, Engine engine, Screen screen) {
    super(program);
    this.engine = engine;
    this.screen = screen;
    this.elements = program.elements().size();
  }

  @Override
  long read(Variable v) {
    needWatched(v);
    return screen.read(v.address(), v.kind(), v.width());
  }

  @Override
  int[] readText(Variable.Text v) {
    needWatched(v);
    return screen.text((int) v.address(), v.kind());
  }

  private void needWatched(Variable v) {
    if (!isWatched(v)) {
      throw new IllegalArgumentException(v.path() + " is not watched by the display " + name());
    }
  }

  @Override
  void write(long time, Variable v, long value) {
    throw new IllegalArgumentException("a display cannot be set: it shows what was sampled");
  }

  @Override
  void writeText(long time, Variable.Text v, int[] units) {
    throw new IllegalArgumentException("a display cannot be set: it shows what was sampled");
  }

  @Override
  public String name() {
    return screen.name();
  }

  @Override
  public boolean isWatched(Variable variable) {
    return screen.isWatched(variable.address(), variable.width());
  }

  @Override
  public long sampledAt(Variable variable) {
    return screen.sampledAt(variable.address(), variable.width());
  }

  @Override
  public long sampledIn(Variable variable) {
    return screen.sampledIn(variable.address(), variable.width());
  }

  private int checked(int element) {
    if (element < 0 || element >= elements) {
      throw new IndexOutOfBoundsException("the program has no ladder element " + element);
    }
    return element;
  }

  @Override
  public boolean painted(int element) {
    return engine.painted(screen, checked(element));
  }

  @Override
  public boolean isPainted(int element) {
    return screen.isPainted(checked(element));
  }

  @Override
  public boolean executed(int element) {
    return engine.executed(checked(element));
  }

  @Override
  public boolean power(int element) {
    return engine.power(checked(element));
  }
}
