/** Exercises as JUnit 5 tests: what a student hands in is checked against hidden stimuli, a reference program and an exploration. */
package dev.scanloom.examples.junit;
