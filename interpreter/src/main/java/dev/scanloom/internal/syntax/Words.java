package dev.scanloom.internal.syntax;

import static dev.scanloom.internal.syntax.grammar.ScanloomParser.*;

import java.util.ArrayList;
import java.util.BitSet;
import java.util.List;
import java.util.Locale;
import java.util.Optional;

/** The keywords as people read them, sets of them, and the nearest one to a misspelt word. */
final class Words {
  private Words() {}

  private static final String[] SPELLING = spellings();

  /** In the order of the grammar; written out, since the grammar's own vocabulary comes with the whole parser, which few texts need. */
  private static String[] spellings() {
    String[] words = (
      "PROGRAM END_PROGRAM FUNCTION END_FUNCTION FUNCTION_BLOCK END_FUNCTION_BLOCK CLASS END_CLASS INTERFACE END_INTERFACE "
      + "METHOD END_METHOD PROPERTY END_PROPERTY PROPERTY_GET END_PROPERTY_GET PROPERTY_SET END_PROPERTY_SET GET END_GET SET "
      + "END_SET NAMESPACE END_NAMESPACE USING EXTENDS IMPLEMENTS ABSTRACT FINAL OVERRIDE PUBLIC PRIVATE PROTECTED INTERNAL "
      + "TYPE END_TYPE STRUCT END_STRUCT OVERLAP ARRAY OF REF_TO VAR VAR_INPUT VAR_OUTPUT VAR_IN_OUT VAR_TEMP VAR_EXTERNAL "
      + "VAR_GLOBAL VAR_ACCESS VAR_CONFIG END_VAR CONSTANT RETAIN NON_RETAIN AT R_EDGE F_EDGE READ_ONLY READ_WRITE "
      + "CONFIGURATION END_CONFIGURATION RESOURCE END_RESOURCE TASK ON WITH STEP INITIAL_STEP END_STEP TRANSITION "
      + "END_TRANSITION ACTION END_ACTION FROM TO IF THEN ELSIF ELSE END_IF CASE END_CASE FOR BY DO END_FOR WHILE END_WHILE "
      + "REPEAT UNTIL END_REPEAT EXIT CONTINUE RETURN AND OR XOR NOT MOD TRUE FALSE NULL THIS SUPER ; : , . .. := ?= => ( ) [ ] "
      + "= <> < > <= >= + - * / ** & ^ ").split(" ");
    String[] all = new String[STRAY + 1];
    System.arraycopy(words, 0, all, PROGRAM, words.length);
    return all;
  }

  /** The keyword or delimiter as written in a program, or null for literals, identifiers and the like. */
  static String spelling(int type) {
    return type > 0 && type < SPELLING.length ? SPELLING[type] : null;
  }

  static boolean isKeyword(int type) {
    return type >= PROGRAM && type <= SUPER;
  }

  static BitSet set(int... types) {
    BitSet set = new BitSet();
    for (int type : types) {
      set.set(Math.max(0, type)); // EOF (-1) is bit 0, which no token has
    }
    return set;
  }

  /** Whether {@code set} has a token type; EOF counts as 0. */
  static boolean has(BitSet set, int type) {
    return set.get(Math.max(0, type));
  }

  static BitSet union(BitSet... sets) {
    BitSet all = new BitSet();
    for (BitSet set : sets) {
      all.or(set);
    }
    return all;
  }

  /** GET, SET and ON are identifiers where no keyword is expected. */
  static final BitSet IDENTIFIERS = set(IDENTIFIER, GET, SET, ON);

  static final BitSet LITERALS = set(INTEGER, REAL, BASED, TRUE, FALSE, NULL, STRING, WSTRING, DURATION, DATE, TIME_OF_DAY, DATE_AND_TIME);

  static final BitSet SECTIONS =
      set(VAR, VAR_INPUT, VAR_OUTPUT, VAR_IN_OUT, VAR_TEMP, VAR_EXTERNAL, VAR_GLOBAL, VAR_ACCESS, VAR_CONFIG);

  static final BitSet SECTION_QUALIFIERS = set(CONSTANT, RETAIN, NON_RETAIN, PUBLIC, PRIVATE, PROTECTED, INTERNAL);

  /** Keywords that open a statement. */
  static final BitSet STATEMENTS = set(IF, CASE, FOR, WHILE, REPEAT, EXIT, CONTINUE, RETURN);

  /** Keywords that close a statement. */
  static final BitSet STATEMENT_ENDS = set(END_IF, END_CASE, END_FOR, END_WHILE, END_REPEAT);

  /** Keywords that open a declaration at the top of a text or namespace, sections aside. */
  static final BitSet DECLARATIONS =
      set(NAMESPACE, USING, TYPE, FUNCTION, FUNCTION_BLOCK, CLASS, INTERFACE, PROGRAM, CONFIGURATION);

  /** Keywords that open a part of a POU, class or configuration. */
  static final BitSet PARTS = set(METHOD, PROPERTY, PROPERTY_GET, PROPERTY_SET, STEP, INITIAL_STEP, TRANSITION, ACTION, RESOURCE, TASK);

  /** Keywords that close a body. */
  static final BitSet BODY_ENDS = set(END_PROGRAM, END_FUNCTION, END_FUNCTION_BLOCK, END_METHOD, END_ACTION, END_TRANSITION, END_GET,
      END_SET, END_PROPERTY, END_PROPERTY_GET, END_PROPERTY_SET);

  /** Keywords that close anything but a statement. */
  static final BitSet OTHER_ENDS = union(BODY_ENDS,
      set(END_CLASS, END_INTERFACE, END_NAMESPACE, END_TYPE, END_STRUCT, END_VAR, END_CONFIGURATION, END_RESOURCE, END_STEP));

  static final BitSet ENDS = union(STATEMENT_ENDS, OTHER_ENDS);

  /**
   * The keyword of {@code candidates} that is spelt most like {@code word}; empty if none is near: one wrong, missing, additional or
   * swapped
   * letter, two in keywords of six letters and more.
   */
  static Optional<Integer> nearest(String word, BitSet candidates) {
    if (word.length() > 24) {
      return Optional.empty();
    }
    String upper = word.toUpperCase(Locale.ROOT);
    int best = -1;
    int bestDistance = 3;
    for (int type = candidates.nextSetBit(0); type >= 0; type = candidates.nextSetBit(type + 1)) {
      String keyword = spelling(type);
      int allowed = keyword.length() < 6 ? 1 : 2;
      if (Math.abs(keyword.length() - upper.length()) <= allowed) {
        int distance = distance(upper, keyword);
        if (distance <= allowed && distance < bestDistance) {
          best = type;
          bestDistance = distance;
        }
      }
    }
    return best < 0 ? Optional.empty() : Optional.of(best);
  }

  /** Edit distance in which two swapped neighbours count once. */
  static int distance(String a, String b) {
    int[][] d = new int[a.length() + 1][b.length() + 1];
    for (int i = 0; i <= a.length(); i++) {
      for (int j = 0; j <= b.length(); j++) {
        if (i == 0 || j == 0) {
          d[i][j] = i + j;
          continue;
        }
        int change = d[i - 1][j - 1] + (a.charAt(i - 1) == b.charAt(j - 1) ? 0 : 1);
        d[i][j] = Math.min(change, Math.min(d[i - 1][j], d[i][j - 1]) + 1);
        if (i > 1 && j > 1 && a.charAt(i - 1) == b.charAt(j - 2) && a.charAt(i - 2) == b.charAt(j - 1)) {
          d[i][j] = Math.min(d[i][j], d[i - 2][j - 2] + 1);
        }
      }
    }
    return d[a.length()][b.length()];
  }

  /** The keyword that closes what {@code type} opens, or 0. */
  static int closerOf(int type) {
    return switch (type) {
      case PROGRAM -> END_PROGRAM;
      case FUNCTION -> END_FUNCTION;
      case FUNCTION_BLOCK -> END_FUNCTION_BLOCK;
      case CLASS -> END_CLASS;
      case INTERFACE -> END_INTERFACE;
      case METHOD -> END_METHOD;
      case PROPERTY -> END_PROPERTY;
      case PROPERTY_GET -> END_PROPERTY_GET;
      case PROPERTY_SET -> END_PROPERTY_SET;
      case GET -> END_GET;
      case SET -> END_SET;
      case NAMESPACE -> END_NAMESPACE;
      case TYPE -> END_TYPE;
      case STRUCT -> END_STRUCT;
      case CONFIGURATION -> END_CONFIGURATION;
      case RESOURCE -> END_RESOURCE;
      case STEP, INITIAL_STEP -> END_STEP;
      case TRANSITION -> END_TRANSITION;
      case ACTION -> END_ACTION;
      case IF -> END_IF;
      case CASE -> END_CASE;
      case FOR -> END_FOR;
      case WHILE -> END_WHILE;
      case REPEAT -> END_REPEAT;
      default -> has(SECTIONS, type) ? END_VAR : 0;
    };
  }

  /** At most three of the given, joined for people: {@code a, b or c}. */
  static String oneOf(List<String> things) {
    List<String> few = new ArrayList<>(things.subList(0, Math.min(3, things.size())));
    if (few.size() == 1) {
      return few.get(0);
    }
    String last = few.remove(few.size() - 1);
    return String.join(", ", few) + " or " + last;
  }
}
