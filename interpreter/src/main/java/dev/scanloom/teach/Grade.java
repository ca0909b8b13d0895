package dev.scanloom.teach;

import java.util.List;

/**
 * What became of a student's answers. Immutable.
 *
 * @param title of the exercise
 * @param marks one for each question, in their order
 */
public record Grade(String title, List<Mark> marks) {
  public Grade {
    marks = List.copyOf(marks);
  }

  /** How an answer fared. */
  public enum Verdict { RIGHT, WRONG, NOT_UNDERSTOOD, MISSING }

  /**
   * One question's mark.
   *
   * @param number of the question, from 1
   * @param given what the student wrote
   * @param expected the computed answer
   * @param feedback sentences, from the student's belief to the step that contradicts it and back to what happened outside; empty when the
   *     answer is right
   */
  public record Mark(int number, String question, String given, Verdict verdict, String expected, List<String> feedback) {
    public Mark {
      feedback = List.copyOf(feedback);
    }
  }

  /** Number of right answers. */
  public int right() {
    return (int) marks.stream().filter(m -> m.verdict() == Verdict.RIGHT).count();
  }

  /** Every answer is right. */
  public boolean isPerfect() {
    return right() == marks.size();
  }

  /** The grade as lines of text, safe to print to a terminal. */
  public String text() {
    StringBuilder b = new StringBuilder();
    b.append(Html.inert(title)).append(": ").append(right()).append(" of ").append(marks.size()).append(" right\n");
    for (Mark m : marks) {
      b.append('\n').append(m.number()).append(". ").append(Html.inert(m.question())).append('\n');
      b.append("   ").append(switch (m.verdict()) {
        case RIGHT -> "right: ";
        case WRONG -> "wrong: ";
        case NOT_UNDERSTOOD -> "not understood: ";
        case MISSING -> "no answer";
      }).append(Html.inert(m.given())).append('\n');
      for (String line : m.feedback()) {
        b.append("   ").append(Html.inert(line)).append('\n');
      }
    }
    return b.toString();
  }

  @Override
  public String toString() {
    return text();
  }
}
