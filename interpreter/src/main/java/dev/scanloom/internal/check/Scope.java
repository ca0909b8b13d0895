package dev.scanloom.internal.check;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;

/** Where an expression or body stands: what its names may mean, and what is allowed there. */
final class Scope {
  private final Session session;
  private final Site site;
  private final PouInfo info;
  private final Map<String, Variable> extra = new LinkedHashMap<>();
  private final List<Variable> controls = new ArrayList<>();
  private int loops;
  private boolean constant;
  private boolean callsSuper;
  private boolean condition;
  private Variable result;

  /** {@code info} is null outside of POUs. */
  Scope(Session session, Site site, PouInfo info) {
    this.session = session;
    this.site = site;
    this.info = info;
  }

  static Scope of(Session session, PouInfo info) {
    return new Scope(session, info.site(), info);
  }

  /**
   * A name for the memory of a transition-sensing element of the POU. It is made of what the element is, not of where it stands, so that an online change
   * finds it again when other networks come or go: its operand, the text of its network, and a number among equals.
   */
  String edgeName(String kind, String operand, String network) {
    String name = "$" + kind + "_" + hash(operand.toUpperCase(Locale.ROOT)) + "_" + hash(network);
    return name + "_" + session.edgeNames.computeIfAbsent(info.pou(), p -> new LinkedHashMap<>()).merge(name, 1, Integer::sum);
  }

  /** FNV-1a over lines without the blanks around them (public domain; from memory). */
  private static String hash(String text) {
    long h = 0xcbf29ce484222325L;
    for (String line : text.split("\\R")) {
      for (char c : (line.strip() + '\n').toCharArray()) {
        h = (h ^ c) * 0x100000001b3L;
      }
    }
    return Long.toHexString(h);
  }

  Site site() {
    return site;
  }

  PouInfo info() {
    return info;
  }

  /** Names that are not declared as variables: SFC steps and actions, globals in a configuration. */
  Map<String, Variable> extra() {
    return extra;
  }

  /** Control variables of the FOR loops around. */
  List<Variable> controls() {
    return controls;
  }

  int loops() {
    return loops;
  }

  void enterLoop() {
    loops++;
  }

  void leaveLoop() {
    loops--;
  }

  /** Only constant expressions are allowed. */
  boolean isConstant() {
    return constant;
  }

  Scope asConstant() {
    Scope s = new Scope(session, site, info);
    s.extra.putAll(extra);
    s.constant = true;
    return s;
  }

  /** Inside the condition of a transition, which must not change variables. */
  boolean isCondition() {
    return condition;
  }

  void setCondition(boolean b) {
    condition = b;
  }

  /** The variable that the ladder body of a transition writes; null elsewhere. */
  Variable result() {
    return result;
  }

  void setResult(Variable v) {
    result = v;
  }

  boolean hasCalledSuper() {
    return callsSuper;
  }

  void setCalledSuper() {
    callsSuper = true;
  }

  /** The program, block or class whose instance the body works on; the function itself for a function; null outside. */
  PouInfo self() {
    return info == null ? null : info.owner() == null ? info : info.owner();
  }

  boolean isFunctionOrMethod() {
    return info != null && (info.pou().kind() == Pou.Kind.FUNCTION || info.pou().kind() == Pou.Kind.METHOD);
  }

  Variable find(String key) {
    Variable v = extra.get(key);
    if (v != null || info == null) {
      return v;
    }
    v = session.pous.variable(info, key);
    if (v == null && info.owner() != null) {
      v = session.pous.variable(info.owner(), key);
    }
    return v;
  }

  /** Enumerations declared directly at variables of the POU that have a value of the name. */
  List<Type.Enumeration> enumerated(String key) {
    List<Type.Enumeration> all = new ArrayList<>();
    for (PouInfo i = info; i != null; i = i.owner()) {
      for (PouInfo b = i; b != null; b = session.baseOf(b)) {
        all.addAll(b.enumerated().getOrDefault(key, List.of()));
      }
    }
    return all;
  }

  List<String> names() {
    List<String> all = new ArrayList<>();
    extra.values().forEach(v -> all.add(v.name()));
    for (PouInfo i = info; i != null; i = i.owner()) {
      for (PouInfo b = i; b != null; b = session.baseOf(b)) {
        b.names().values().forEach(v -> all.add(v.name()));
        b.properties().values().forEach(p -> all.add(p.name()));
        b.methods().forEach(m -> all.add(m.pou().name()));
      }
    }
    return all;
  }
}
