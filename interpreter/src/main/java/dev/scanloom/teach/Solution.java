package dev.scanloom.teach;

import dev.scanloom.CompiledProgram;
import dev.scanloom.Variable;
import dev.scanloom.explain.Counterfactual;
import dev.scanloom.explain.Explanation;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/** The computed answers of an exercise with their evidence, and the grading of others. Immutable and safe for use by several threads. */
public final class Solution {

  /**
   * One answer.
   *
   * @param canonical the form in which answers are compared
   * @param shown the answer for people
   * @param prompt the question in words
   * @param options the options to choose from, without their letters; empty for other kinds
   * @param proofs one sentence for each option: what came of it
   * @param why the evidence; empty where nothing is to be explained
   */
  record Answer(Question question, AnswerText.Kind kind, Variable variable, String canonical, String shown, String prompt,
      List<String> options,
      List<String> proofs, Optional<Explanation> why, Rerun.Item item, Optional<Counterfactual> nearest) {}

  private final Exercise exercise;
  private final CompiledProgram program;
  private final List<Answer> answers;

  Solution(Exercise exercise, CompiledProgram program, List<Answer> answers) {
    this.exercise = exercise;
    this.program = program;
    this.answers = List.copyOf(answers);
  }

  public Exercise exercise() {
    return exercise;
  }

  public CompiledProgram program() {
    return program;
  }

  List<Answer> all() {
    return answers;
  }

  /** The answers in the order of the questions, in one form each: {@code TRUE}, {@code T#30ms}, {@code 2}, {@code never}, {@code a, c}. */
  public List<String> answers() {
    return answers.stream().map(Answer::canonical).toList();
  }

  /** Answer to a question by its number, from 1. */
  public String answer(int number) {
    return answers.get(number - 1).canonical();
  }

  /** The questions in words, with their options. */
  public List<String> prompts() {
    List<String> all = new ArrayList<>();
    for (Answer a : answers) {
      StringBuilder b = new StringBuilder(a.prompt);
      for (int i = 0; i < a.options.size(); i++) {
        b.append("\n  (").append((char) ('a' + i)).append(") ").append(a.options.get(i));
      }
      all.add(b.toString());
    }
    return all;
  }

  /** Why the answer is what it is, by the number of its question, from 1. */
  public Optional<Explanation> why(int number) {
    return answers.get(number - 1).why;
  }

  /** The nearest single change that flips the state asked about; known for states at the end of a scan that inputs alone can move. */
  public Optional<Counterfactual> nearestChange(int number) {
    return answers.get(number - 1).nearest;
  }

  /**
   * Grades answers, one string for each question in their order; missing ones count as not given, more than there are questions are
   * refused.
   */
  public Grade grade(String... given) {
    return grade(List.of(given));
  }

  /** As {@link #grade(String...)}. */
  public Grade grade(List<String> given) {
    if (given.size() > answers.size()) {
      throw new IllegalArgumentException(given.size() + " answers to " + answers.size() + " questions");
    }
    List<Grade.Mark> marks = new ArrayList<>();
    for (int i = 0; i < answers.size(); i++) {
      marks.add(Grading.mark(i + 1, answers.get(i), i < given.size() ? given.get(i) : ""));
    }
    return new Grade(exercise.title, marks);
  }

  @Override
  public String toString() {
    return exercise.title + ": " + String.join("; ", answers());
  }
}
