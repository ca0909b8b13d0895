package dev.scanloom;

/** To be filled in. */
final class DisplayPlace extends Values implements Place.Display {

  @Override
  public String name() {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public boolean isWatched(Variable variable) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public long sampledAt(Variable variable) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public long sampledIn(Variable variable) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public boolean painted(int element) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public boolean isPainted(int element) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public boolean executed(int element) {
    throw new UnsupportedOperationException("not written yet");
  }

  @Override
  public boolean power(int element) {
    throw new UnsupportedOperationException("not written yet");
  }
}
