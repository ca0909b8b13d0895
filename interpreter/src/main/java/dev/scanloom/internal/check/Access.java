package dev.scanloom.internal.check;

/** Access specifiers (Tables 48, 53, 64). */
final class Access {
  private final Session session;

  Access(Session session) {
    this.session = session;
  }

  /** A member with the access may be used from a scope. */
  boolean canUse(Variable.Access access, Pou declaredIn, Scope from) {
    PouInfo self = from.self();
    return switch (access) {
      case PUBLIC -> true;
      case PRIVATE -> self != null && self.pou() == declaredIn;
      case PROTECTED -> self != null && self.pou().isA(declaredIn);
      case INTERNAL -> {
        PouInfo declaring = session.info(declaredIn);
        yield declaring != null && from.site().enclosing().isWithin(declaring.namespace());
      }
    };
  }
}
