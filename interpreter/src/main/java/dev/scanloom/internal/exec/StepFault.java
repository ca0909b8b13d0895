package dev.scanloom.internal.exec;

/**
 * How a step failed.
 *
 * @param code stable slug such as {@code fault/index-range}
 * @param message what was wrong, with the values involved
 * @param step the step that failed
 * @param ordinal its number within the task's scan, from 1
 */
public record StepFault(String code, String message, int step, long ordinal) {}
