package dev.scanloom.internal.ladder;

import dev.scanloom.internal.ladder.Sketch.Horizontal;
import dev.scanloom.internal.ladder.Sketch.Kind;
import dev.scanloom.internal.ladder.Sketch.Part;
import dev.scanloom.internal.ladder.Sketch.Token;
import dev.scanloom.internal.ladder.Sketch.Type;
import dev.scanloom.internal.ladder.Sketch.Vertical;
import dev.scanloom.internal.ladder.Sketch.Word;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;

/** Horizontal links between the tokens of a row, and what the words at their ends mean. */
final class HorizontalLinks {
  private final Sketch sketch;
  private final Grid grid;
  private final Findings findings;
  private final List<Horizontal> horizontals;
  private final List<Vertical> verticals;

  HorizontalLinks(Sketch sketch) {
    this.sketch = sketch;
    grid = sketch.grid;
    findings = sketch.findings;
    horizontals = sketch.horizontals;
    verticals = sketch.verticals;
  }

  private static boolean accepts(Token t) {
    return switch (t.type) {
      case RIGHT_RAIL, PLUS, BOX_LEFT, WORD -> true;
      case ELEMENT -> t.part.kind != Kind.CONTINUATION;
      case LEFT_RAIL, BAR, DASH, BOX_RIGHT, STRAY -> false;
    };
  }

  private static boolean endsRow(Token t) {
    return t.type == Type.ELEMENT && (t.part.kind == Kind.JUMP || t.part.kind == Kind.RETURN || t.part.kind == Kind.FEED);
  }

  private static boolean isElement(Token t) {
    return t.type == Type.ELEMENT;
  }

  void linkRow(int row, List<Token> tokens) {
    Horizontal open = null; // a link whose right end is not known yet
    Token previous = null;
    for (int i = 0; i < tokens.size(); i++) {
      Token t = tokens.get(i);
      boolean touch = previous != null && previous.to + 1 == t.from;
      Token following = i + 1 < tokens.size() ? tokens.get(i + 1) : null;
      boolean followed = following != null && t.to + 1 == following.from;
      if (t.type == Type.DASH) {
        if (open != null && !touch) {
          if (joinsDash(open, t, following, followed)) {
            gap(open, row, t.from);
          } else {
            leaveOpen(open, t);
            open = new Horizontal(row, t.from);
          }
        } else if (open == null) {
          open = new Horizontal(row, t.from);
          if (touch) {
            open.poisoned = previous.type == Type.STRAY;
          }
        }
        open.to = t.to;
        previous = t;
        continue;
      }
      if (open != null) {
        boolean hard = open.to >= open.from;
        if (touch && t.type == Type.BAR && hard) {
          brokenJoint(t);
          finish(open, t);
        } else if (touch && accepts(t) && (hard || zeroLength(open.left, t))) {
          finish(open, t);
        } else if (!touch && accepts(t) && joinsOver(open, hard, t, followed)) {
          gap(open, row, t.from);
          finish(open, t);
        } else if (touch && t.type == Type.STRAY) {
          open.poisoned = true;
        } else {
          leaveOpen(open, t);
        }
        open = null;
      }
      open = start(t, following, followed, row);
      previous = t;
    }
    if (open != null) {
      leaveOpen(open, null);
    }
  }

  /** The link that leaves a token to the right, if one may. */
  private Horizontal start(Token t, Token following, boolean followed, int row) {
    boolean emits = switch (t.type) {
      case LEFT_RAIL -> Grid.isPlus(grid.at(row, t.from)) || followed && (following.type == Type.DASH || isElement(following));
      case PLUS, BOX_RIGHT, ELEMENT -> true;
      case WORD -> followed || following != null && following.type == Type.DASH;
      case BAR -> followed && following.type == Type.DASH;
      case RIGHT_RAIL, DASH, BOX_LEFT, STRAY -> false;
    };
    if (!emits) {
      return null;
    }
    if (t.type == Type.BAR) {
      brokenJoint(t);
    }
    Horizontal h = new Horizontal(row, t.to + 1);
    h.left = t;
    return h;
  }

  private void brokenJoint(Token bar) {
    if (!bar.reported) {
      bar.reported = true;
      findings.error("ladder/open-branch", bar.row, bar.from, bar.to, "a link meets a vertical link here; expected '+'");
      Vertical v = verticals.get(bar.vertical);
      v.reported = true;
      if (v.plusRow < 0) {
        v.plusRow = bar.row;
      }
      if (v.bottom == bar.row) {
        v.bottomIsPlus = true;
      }
      if (v.top == bar.row) {
        v.topIsPlus = true;
      }
    }
  }

  /** Two tokens side by side, without a link between them. A missing link is reported; the two count as connected. */
  private boolean zeroLength(Token l, Token r) {
    if (endsRow(l)) {
      return true;
    }
    boolean jointLeft = l.type == Type.PLUS || l.type == Type.LEFT_RAIL;
    boolean jointRight = r.type == Type.PLUS || r.type == Type.RIGHT_RAIL;
    if (r.type == Type.WORD) {
      if (l.type == Type.BOX_RIGHT) {
        missing(l, r);
        return true;
      }
      return false;
    }
    if (l.type == Type.WORD) {
      if (r.type == Type.BOX_LEFT) {
        missing(l, r);
        return true;
      }
      return false;
    }
    if (l.type == Type.BOX_RIGHT && (r.type == Type.BOX_LEFT || r.type == Type.RIGHT_RAIL)) {
      return false;
    }
    if (l.type == Type.LEFT_RAIL && (r.type == Type.BOX_LEFT || r.type == Type.RIGHT_RAIL)) {
      return false;
    }
    if (l.type == Type.LEFT_RAIL && r.type == Type.PLUS) {
      return Grid.isPlus(grid.at(l.row, l.from));
    }
    if (!jointLeft && !jointRight) {
      missing(l, r);
    }
    return true;
  }

  private void missing(Token l, Token r) {
    findings.error("ladder/gap", r.row, r.from, r.from, "no link stands between this and what is left of it; expected '-' between them");
  }

  private boolean joinsDash(Horizontal open, Token dash, Token following, boolean followed) {
    boolean hard = open.to >= open.from;
    Token l = open.left;
    if (hard) {
      return true;
    }
    return switch (l.type) {
      case WORD -> followed && following.type == Type.BOX_LEFT;
      case LEFT_RAIL, PLUS, BOX_RIGHT, ELEMENT -> true;
      case RIGHT_RAIL, BAR, DASH, BOX_LEFT, STRAY -> false;
    };
  }

  private boolean joinsOver(Horizontal open, boolean hard, Token t, boolean followed) {
    Token l = open.left;
    return switch (t.type) {
      case ELEMENT -> hard || l.type != Type.WORD;
      case BOX_LEFT -> t.pin.leftFrom >= 0 && t.pin.row != t.pin.box.typeRow && (hard || l.type == Type.ELEMENT);
      case PLUS -> hard && l != null && l.type != Type.WORD;
      case WORD -> hard && !followed && l != null && l.type == Type.BOX_RIGHT;
      case RIGHT_RAIL, LEFT_RAIL, BAR, DASH, BOX_RIGHT, STRAY -> false;
    };
  }

  private void gap(Horizontal open, int row, int until) {
    if (open.left != null && endsRow(open.left)) {
      behind(open, until);
      open.to = until - 1;
      return;
    }
    int from = open.to + 1;
    int n = until - from;
    findings.error("ladder/gap", row, from, until - 1, "link interrupted by " + n + (n == 1 ? " blank" : " blanks") + "; expected '-'");
    open.to = until - 1;
  }

  private void behind(Horizontal open, int column) {
    findings.error("ladder/behind-jump", open.row, column, column, open.left.part.kind == Kind.FEED
        ? "nothing may follow the feeding end of a connector on its row" : "nothing may follow a jump or return on its row");
    open.alias = open.left.part.in;
    open.poisoned = true;
    open.left.reported = true;
  }

  private void finish(Horizontal h, Token right) {
    if (h.left != null && endsRow(h.left) && !h.left.reported) {
      if (right.type == Type.RIGHT_RAIL && h.to < h.from) {
        return; // the rail directly behind a jump touches it by chance
      }
      behind(h, h.from);
    }
    h.right = right;
    keep(h);
  }

  private void keep(Horizontal h) {
    horizontals.add(h);
    Token l = h.left;
    Token r = h.right;
    if (l != null) {
      l.out = h;
      switch (l.type) {
        case PLUS, BAR -> verticals.get(l.vertical).outs.add(h);
        case ELEMENT -> l.part.out = h;
        case BOX_RIGHT -> l.pin.out = h;
        case WORD -> l.word.touched = true;
        case LEFT_RAIL, RIGHT_RAIL, DASH, BOX_LEFT, STRAY -> { }
      }
    }
    if (r != null) {
      r.in = h;
      switch (r.type) {
        case PLUS, BAR -> verticals.get(r.vertical).ins.add(h);
        case ELEMENT -> r.part.in = h;
        case BOX_LEFT -> r.pin.in = h;
        case WORD -> r.word.touched = true;
        case LEFT_RAIL, RIGHT_RAIL, DASH, BOX_RIGHT, STRAY -> { }
      }
    }
  }

  /** The right end of a link, or of an element without one, meets nothing; {@code t} is what comes next on the row. */
  private void leaveOpen(Horizontal h, Token t) {
    boolean hard = h.to >= h.from;
    Token l = h.left;
    if (!hard) {
      if (l.type == Type.ELEMENT) {
        switch (l.part.kind) {
          case CONTACT, COMPARE, CONTINUATION ->
              findings.error("ladder/open-link", h.row, l.to, l.to,
                  "this " + l.part.describe() + " leads nowhere; expected a link to its right");
          case COIL -> {
            if (grid.right >= 0) {
              findings.warning("ladder/coil-off-rail", h.row, l.to, l.to, "this coil does not reach the right rail");
            }
          }
          case JUMP, RETURN, FEED, BOX, ASSIGN -> { }
        }
      }
      return;
    }
    keep(h);
    if (l != null && endsRow(l)) {
      behind(h, h.from);
      return;
    }
    boolean mayEnd = l != null && l.type == Type.ELEMENT && l.part.kind == Kind.COIL && grid.right < 0 && t == null;
    if (!mayEnd && !(t != null && t.type == Type.STRAY && h.to + 1 == t.from)) {
      findings.error("ladder/open-link", h.row, h.to, h.to,
          "this link ends nowhere; expected an element, a vertical link or the right rail");
    }
  }

  /**
   * A word led to a word assigns it (T42.6b); a variable led to a jump or return is its condition, TRUE makes it unconditional (T73.1a,
   * T73.2a, T73.3b). Every other word at a link is reported later.
   */
  void wordsAtLinks() {
    List<Horizontal> assignments = new ArrayList<>(0);
    for (Horizontal h : horizontals) {
      if (h.left == null || h.right == null || h.left.type != Type.WORD || h.left.in != null || h.to < h.from) {
        continue;
      }
      Word w = h.left.word;
      if (h.right.type == Type.WORD && h.right.out == null) {
        Part p = new Part(Kind.ASSIGN, h.row, h.left.from, h.right.to);
        p.above = w;
        p.below = h.right.word;
        p.below.used = true;
        w.used = true;
        sketch.parts.add(p);
        assignments.add(h);
      } else if (h.right.type == Type.ELEMENT && (h.right.part.kind == Kind.JUMP || h.right.part.kind == Kind.RETURN)) {
        String text = grid.text(w.row, w.from, w.to).toUpperCase(Locale.ROOT);
        Token rail = new Token(Type.LEFT_RAIL, h.row, h.left.from - 1, h.left.from - 1);
        if (text.equals("1") || text.equals("TRUE") || text.equals("BOOL#1") || text.equals("BOOL#TRUE")) {
          h.left = rail;
          h.bare = true;
          w.used = true;
        } else if ((Character.isLetter(text.charAt(0)) || "_%".indexOf(text.charAt(0)) >= 0) && !text.equals("FALSE")
            && text.indexOf('#') < 0) {
          Part p = new Part(Kind.CONTACT, h.row, h.left.from, h.left.to);
          p.bare = true;
          p.above = w;
          p.in = new Horizontal(h.row, h.left.from);
          p.in.left = rail;
          p.out = h;
          w.used = true;
          sketch.parts.add(p);
          Token t = new Token(Type.ELEMENT, h.row, h.left.from, h.left.to);
          t.part = p;
          t.out = h;
          p.in.right = t;
          h.left = t;
        }
      }
    }
    if (!assignments.isEmpty()) {
      horizontals.removeAll(assignments);
    }
  }
}
