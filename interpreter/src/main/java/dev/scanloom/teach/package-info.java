/**
 * Exercises about what field, memory and display hold: stated in Java, answered by running, graded with the evidence. Uses what any host
 * can use.
 */
package dev.scanloom.teach;
