package dev.scanloom.internal.check;

/** Rules between blocks, classes and interfaces (Tables 48 to 53). */
final class Inheritance {
  private final Session session;

  Inheritance(Session session) {
    this.session = session;
  }

  void check() {
    for (Symbol.PouSymbol s : session.symbols.pous()) {
      session.pous.header(s.info());
    }
  }
}
