package dev.scanloom.internal.exec;

/**
 * How a step failed.
 *
 * @param code stable slug such as {@code fault/index-range}
 * @param message what was wrong, with the values involved
 * @param step the step that failed
 * @param ordinal its number within the task's scan, from 1
 * @param userStep the innermost step on the call stack that is not of a library; -1 when there is none
 */
public record StepFault(String code, String message, int step, long ordinal, int userStep) {}
