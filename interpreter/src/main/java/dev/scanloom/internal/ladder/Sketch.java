package dev.scanloom.internal.ladder;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;

/**
 * A stretch of rows on its way from characters to the graph: boxes, words, elements and links, as the passes find them. What stands in
 * other rows of the drawing has no part in it.
 */
final class Sketch {
  /** The port of the left rail; that of an element is its id and the number of its output. */
  static final long RAIL = -1L;

  enum Kind { CONTACT, COMPARE, COIL, JUMP, RETURN, FEED, CONTINUATION, BOX, ASSIGN }

  enum Type { LEFT_RAIL, RIGHT_RAIL, PLUS, BAR, DASH, ELEMENT, BOX_LEFT, BOX_RIGHT, WORD, STRAY }

  /** A token of a row; the columns are both included. */
  static final class Token {
    final Type type;
    final int row;
    int from;
    int to;
    Part part;
    Word word;
    BoxRow pin;
    int vertical = -1;
    boolean reported;
    Horizontal in;
    Horizontal out;

    Token(Type type, int row, int from, int to) {
      this.type = type;
      this.row = row;
      this.from = from;
      this.to = to;
    }
  }

  static final class Word {
    final int row;
    final int from;
    final int to;
    boolean touched;
    boolean used;
    /** The element that claims it as its operand, and from how far. */
    Part claimant;
    int claimDistance;

    Word(int row, int from, int to) {
      this.row = row;
      this.from = from;
      this.to = to;
    }
  }

  /** An element of the drawing before it becomes one of the graph. Connectors are parts too, though not elements. */
  static final class Part implements Comparable<Part> {
    final Kind kind;
    final int row;
    final int from;
    final int to;
    int id = -1;
    String mark = "";
    String name = "";
    int nameFrom;
    int nameTo;
    Horizontal in;
    Horizontal out;
    BoxNode box;
    boolean dropped;
    /** A variable at the left end of a link: a contact on the rail without its bars. */
    boolean bare;
    Word above;
    Word below;
    int index;
    /** What its link to the right carries, once asked for: of a contact, compare contact or coil. */
    State state;

    Part(Kind kind, int row, int from, int to) {
      this.kind = kind;
      this.row = row;
      this.from = from;
      this.to = to;
    }

    /** By place, as elements are numbered. */
    @Override
    public int compareTo(Part o) {
      return row != o.row ? Integer.compare(row, o.row) : Integer.compare(from, o.from);
    }

    String describe() {
      return switch (kind) {
        case CONTACT -> "contact";
        case COMPARE -> "compare contact";
        case COIL -> "coil";
        case JUMP -> "jump";
        case RETURN -> "return";
        case FEED, CONTINUATION -> "connector";
        case BOX -> "box";
        case ASSIGN -> "assignment";
      };
    }
  }

  static final class BoxRow {
    final BoxNode box;
    final int row;
    int leftFrom = -1;
    int leftTo;
    int rightFrom = -1;
    int rightTo;
    boolean inOut;
    char leftBorder = '|';
    boolean negatedLeft;
    boolean negatedRight;
    Horizontal in;
    Horizontal out;
    Word value;
    List<Word> targets = List.of();
    int output = -1;
    boolean dropInput;
    boolean dropOutput;

    BoxRow(BoxNode box, int row) {
      this.box = box;
      this.row = row;
    }
  }

  static final class BoxNode {
    final int top;
    final int left;
    final int right;
    int bottom;
    int typeRow = -1;
    int typeFrom;
    int typeTo;
    BoxRow[] pins;
    Part part;
    boolean cornerTouched;
    boolean bottomMissing;

    BoxNode(int top, int left, int right) {
      this.top = top;
      this.left = left;
      this.right = right;
    }

    int lastRow() {
      return bottomMissing ? bottom - 1 : bottom;
    }
  }

  /** A horizontal link between two tokens; either end may be missing. */
  static final class Horizontal {
    final int row;
    int from;
    int to;
    Token left;
    Token right;
    /** Its source is the constant TRUE, drawn as a word: the rail without a rail. */
    boolean bare;
    /** Nothing is said about a missing source again. */
    boolean poisoned;
    /** Stands for the state of another link: what follows a jump. */
    Horizontal alias;

    Horizontal(int row, int from) {
      this.row = row;
      this.from = from;
      this.to = from - 1;
    }
  }

  static final class Vertical {
    final int column;
    int top;
    int bottom;
    final List<Horizontal> ins = new ArrayList<>(2);
    final List<Horizontal> outs = new ArrayList<>(2);
    int plusRow = -1;
    boolean bottomIsPlus;
    boolean topIsPlus;
    boolean reported;

    Vertical(int column, int row) {
      this.column = column;
      top = row;
      bottom = row;
    }
  }

  static final class Connector {
    final String name;
    final List<Part> feeds = new ArrayList<>(1);
    final List<Part> continuations = new ArrayList<>(1);
    boolean looped;
    int number;

    Connector(String name) {
      this.name = name;
    }
  }

  /** What a link carries: ports in the order of their elements, and through which connectors they came. */
  static final class State {
    static final State NOTHING = new State(new long[0], false, List.of());
    static final State POISON = new State(new long[0], true, List.of());
    static final State FROM_RAIL = new State(new long[] {RAIL}, false, List.of());

    final long[] ports;
    final boolean poisoned;
    final List<Connector> through;
    /** The same in the graph, once asked for. */
    Drawing.Link link;

    State(long[] ports, boolean poisoned, List<Connector> through) {
      this.ports = ports;
      this.poisoned = poisoned;
      this.through = through;
    }
  }

  final Grid grid;
  final Findings findings;
  final List<BoxNode> boxes = new ArrayList<>(0);
  final List<Part> parts = new ArrayList<>();
  final List<Horizontal> horizontals = new ArrayList<>();
  final List<Vertical> verticals = new ArrayList<>(4);
  final List<Token> tokensWithVertical = new ArrayList<>(4);
  final Map<String, Connector> connectors = new LinkedHashMap<>(0);
  /** By {@link Part#id}: row by row, from left to right. */
  Part[] elements = {};
  /** By vertical link: the one above to which it belongs, after gaps were closed. */
  int[] mergedVertical = {};
  private int first;
  private int end;
  private final List<List<Word>> words = new ArrayList<>(4);
  private List<List<BoxNode>> boxesOfRow = List.of();

  Sketch(Grid grid, Findings findings) {
    this.grid = grid;
    this.findings = findings;
  }

  /** Forgets everything; what comes stands in this row or below. The lists stay the same: they are as long as most stretches need them. */
  void begin(int row) {
    boxes.clear();
    parts.clear();
    horizontals.clear();
    verticals.clear();
    tokensWithVertical.clear();
    connectors.clear();
    boxesOfRow = List.of();
    for (int i = 0; i < end - first; i++) {
      words.get(i).clear();
    }
    first = row;
    end = row;
  }

  /** From left to right. */
  List<Word> words(int row) {
    int at = row - first;
    return at >= 0 && row < end ? words.get(at) : List.of();
  }

  /** Row by row. */
  List<List<Word>> words() {
    return words.subList(0, end - first);
  }

  /** Words come row by row, from left to right. */
  void add(Word word) {
    while (words.size() <= word.row - first) {
      words.add(new ArrayList<>(4));
    }
    words.get(word.row - first).add(word);
    end = Math.max(end, word.row + 1);
  }

  /** In the order in which they were found. */
  List<BoxNode> boxes(int row) {
    int at = row - first;
    return at >= 0 && at < boxesOfRow.size() ? boxesOfRow.get(at) : List.of();
  }

  void add(BoxNode box) {
    boxes.add(box);
    if (boxesOfRow.isEmpty()) {
      boxesOfRow = new ArrayList<>();
    }
    for (int row = box.top; row <= box.lastRow(); row++) {
      while (boxesOfRow.size() <= row - first) {
        boxesOfRow.add(new ArrayList<>(0));
      }
      boxesOfRow.get(row - first).add(box);
    }
  }

  boolean inside(int row, int column) {
    for (BoxNode b : boxes(row)) {
      if (column >= b.left && column <= b.right) {
        return true;
      }
    }
    return false;
  }

  /** The vertical link to which one belongs after gaps were closed. */
  int root(int vertical) {
    return Joined.root(mergedVertical, vertical);
  }
}
