package dev.scanloom.internal.bytecode;

import dev.scanloom.internal.step.Code;
import dev.scanloom.internal.step.Op;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeSet;

/**
 * The blocks of one method with the bodies that are written inside it, in the order of the text: every jump but the closing one of a loop leads forward.
 * Knows how steps are counted: which blocks ask whether the budget lasts, and by how much the counter is behind the steps made where a block begins.
 */
final class Flow {
  /** A body in a method: the method's own, or one written where it is called. */
  static final class Context {
    final Context caller;
    final int number;
    final int body;
    /** Where its frame begins, counted from the method's. */
    final int frame;
    /** Number of calls around it inside the method. */
    final int level;
    /** Operands of its callers that lie below its own. */
    final int below;
    /** Steps that called it and its callers inside the method, innermost first. */
    final int[] calls;
    /** Its instance; set when the call is translated. */
    Place self;
    /** Where its instance is kept while the body runs: a local variable of the JVM; -1 as long as there is none. */
    int selfLocal = -1;
    private final Map<Integer, Block> blocks = new LinkedHashMap<>();

    Context(Context caller, int call, int number, int body, int frame, int below) {
      this.caller = caller;
      this.number = number;
      this.body = body;
      this.frame = frame;
      this.below = below;
      this.calls = caller == null ? new int[0] : new int[caller.calls.length + 1];
      if (caller != null) {
        calls[0] = call;
        System.arraycopy(caller.calls, 0, calls, 1, caller.calls.length);
      }
      this.level = caller == null ? 0 : caller.level + 1;
    }
  }

  /** Steps {@code [from, to)} of a context, made one after another. */
  static final class Block {
    final Context context;
    final int from;
    int to;
    int index;
    /** What follows, unless a branch is taken; null at the end of the method. */
    Block next;
    /** Where a branch leads. */
    Block branch;
    /** The body that the last step calls is written behind it. */
    Context callee;
    /** Not steps of this method: it ends, and the body goes on at step {@code from}. */
    boolean leaves;
    /** Asks whether the budget lasts. */
    boolean asks;
    /** The method may begin here. */
    boolean entry;
    /** A jump from behind leads here. */
    boolean loop;
    /** The last step counts for itself: afterwards the counter is up to date. */
    boolean settles;
    /** Steps made before it begins that the counter does not know of yet. */
    int before;
    /** Most steps from here until the budget is asked again. */
    int reach;
    /** Where control comes from. */
    final List<Block> sources = new ArrayList<>();
    /** Of a loop that does not ask: most steps of all its rounds. */
    private long extra;

    Block(Context context, int from) {
      this.context = context;
      this.from = from;
    }

    private long rounds() {
      return extra;
    }

    int length() {
      return leaves ? 0 : to - from;
    }

    int after() {
      return settles ? 0 : before + length();
    }
  }

  final List<Block> blocks = new ArrayList<>();
  final Context root;
  private int contexts;
  private final Code code;
  private final Blocks list;
  private final Inlining inlining;
  private final int start;
  private final int end;

  /** Steps {@code [start, end)} of a body; {@code entries}: where else than at the start it may begin. */
  Flow(Code code, Blocks list, Inlining inlining, int body, int start, int end, List<Integer> entries) {
    this.code = code;
    this.list = list;
    this.inlining = inlining;
    this.start = start;
    this.end = end;
    this.root = new Context(null, -1, contexts++, body, 0, 0);
    collect(root, start, end);
    int inside = blocks.size();
    for (int i = 0; i < inside; i++) {
      link(blocks.get(i));
    }
    root.blocks.get(start).entry = true;
    for (int pc : entries) {
      root.blocks.get(pc).entry = true;
    }
    for (int i = 0; i < blocks.size(); i++) {
      Block b = blocks.get(i);
      b.index = i;
    }
    for (Block b : blocks) {
      for (Block to : successors(b)) {
        to.sources.add(b);
        to.loop |= to.index <= b.index;
        to.asks |= b.settles;
      }
      b.asks |= b.entry;
    }
    for (Block b : blocks) {
      b.asks |= b.loop;
    }
    count();
  }

  static List<Block> successors(Block b) {
    if (b.next == null) {
      return b.branch == null ? List.of() : List.of(b.branch);
    }
    return b.branch == null ? List.of(b.next) : List.of(b.next, b.branch);
  }

  private void collect(Context c, int from, int to) {
    Block now = null;
    for (int pc = from; pc < to; pc++) {
      if (list.height[pc] < 0 || list.guarded[pc]) {
        if (now != null) {
          now = null;
        }
        continue;
      }
      if (now == null || list.leader[pc]) {
        now = new Block(c, pc);
        c.blocks.put(pc, now);
        blocks.add(now);
      }
      now.to = pc + 1;
      Op op = Blocks.op(code, pc);
      if ((op == Op.CALL || op == Op.CALL_ON) && inlining.inlines(code.a[pc])) {
        Code.Body callee = code.bodies().get(code.a[pc]);
        int below = c.below + list.height[pc] - op.pops();
        now.callee = new Context(c, pc, contexts++, code.a[pc], c.frame + code.b[pc], below);
        collect(now.callee, callee.start(), callee.end());
        now = null;
      }
    }
  }

  private void link(Block b) {
    int last = b.to - 1;
    Op op = Blocks.op(code, last);
    switch (op) {
      case JUMP -> b.next = block(b.context, code.a[last]);
      case JUMP_FALSE, JUMP_TRUE -> {
        b.next = block(b.context, b.to);
        b.branch = block(b.context, code.a[last]);
      }
      case RETURN -> b.next = b.context.caller == null ? null : continuation(b.context);
      case GUARD -> {
        b.next = block(b.context, guardEnd(code, last));
        b.branch = block(b.context, code.a[last]);
        b.settles = true;
      }
      default -> {
        if (b.callee != null) {
          b.next = b.callee.blocks.get(code.bodies().get(b.callee.body).start());
        } else {
          b.next = block(b.context, b.to);
          b.settles = settles(op);
        }
      }
    }
  }

  private Block continuation(Context c) {
    for (Block b : blocks) {
      if (b.callee == c) {
        return block(b.context, b.to);
      }
    }
    throw new IllegalStateException("a body without a call");
  }

  /** The block of the method's own body that begins at a step. */
  Block blockAt(int pc) {
    return block(root, pc);
  }

  private Block block(Context c, int pc) {
    if (c == root && (pc < start || pc >= end)) {
      Block leaving = root.blocks.get(pc);
      if (leaving == null) {
        leaving = new Block(root, pc);
        leaving.leaves = true;
        leaving.to = pc;
        root.blocks.put(pc, leaving);
        blocks.add(leaving);
      }
      return leaving;
    }
    Block b = c.blocks.get(pc);
    if (b == null) {
      throw new IllegalStateException("no block at step " + pc);
    }
    return b;
  }

  /** Whether a step uses a number of steps that is not known here. */
  static boolean settles(Op op) {
    return switch (op) {
      case CALL, CALL_ON, CALL_DYNAMIC, NATIVE, TEXT_COPY, TEXT_CONVERT, COPY, ASSERT, TAKE, WAIT, GIVE -> true;
      default -> false; // every other step is one step
    };
  }

  /** First step behind the stretch that a GUARD begins. */
  static int guardEnd(Code code, int pc) {
    int depth = 0;
    int at = pc;
    do {
      Op op = Blocks.op(code, at);
      if (op == Op.GUARD) {
        depth++;
      } else if (op == Op.UNGUARD) {
        depth--;
      }
      at++;
    } while (depth > 0);
    return at;
  }

  /** A loop needs not ask: so many rounds at most. False when that is too many steps, or something inside asks. */
  boolean bound(Block head, long rounds, int limit) {
    TreeSet<Integer> inside = inside(head);
    for (int i : inside) {
      Block b = blocks.get(i);
      if (i < head.index || i != head.index && (b.asks || b.sources.stream().anyMatch(from -> !inside.contains(from.index)))) {
        return false;
      }
    }
    long longest = 0;
    Map<Integer, Long> from = new LinkedHashMap<>();
    for (int i : inside.descendingSet()) {
      Block b = blocks.get(i);
      long most = 0;
      for (Block to : successors(b)) {
        if (to.index > i && inside.contains(to.index)) {
          most = Math.max(most, from.get(to.index));
        }
      }
      longest = b.length() + most + b.rounds();
      from.put(i, longest);
    }
    if (rounds < 0 || rounds > limit || longest * rounds > limit) {
      return false;
    }
    head.extra = longest * rounds;
    head.asks = false;
    count();
    return true;
  }

  /** Indices of the blocks from which a way leads back to the head, without leaving the loop. */
  TreeSet<Integer> inside(Block head) {
    TreeSet<Integer> inside = new TreeSet<>();
    inside.add(head.index);
    List<Block> work = new ArrayList<>();
    for (Block b : head.sources) {
      if (b.index >= head.index && inside.add(b.index)) {
        work.add(b);
      }
    }
    while (!work.isEmpty()) {
      for (Block b : work.remove(work.size() - 1).sources) {
        if (inside.add(b.index)) {
          work.add(b);
        }
      }
    }
    return inside;
  }

  /** How far behind the counter is where blocks begin, and how far it is to where the budget is asked again. */
  private void count() {
    for (Block b : blocks) {
      if (b.asks || b.loop || b.sources.isEmpty()) {
        b.before = 0;
        continue;
      }
      // What a branch leads to is chosen for the branch, so that nothing has to be counted on its way.
      Block best = null;
      for (Block p : b.sources) {
        if (best == null || p.branch == b && best.branch != b) {
          best = p;
        }
      }
      b.before = best.after();
    }
    for (int i = blocks.size() - 1; i >= 0; i--) {
      Block b = blocks.get(i);
      long most = 0;
      for (Block to : successors(b)) {
        if (to.index > i && !to.asks) {
          most = Math.max(most, to.reach);
        }
      }
      b.reach = (int) Math.min(Integer.MAX_VALUE / 4, b.length() + most + b.rounds());
    }
  }
}
