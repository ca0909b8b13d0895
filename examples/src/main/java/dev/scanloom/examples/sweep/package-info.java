/** An experiment: many random stimuli over two versions of a program, or one program under two policies. */
package dev.scanloom.examples.sweep;
