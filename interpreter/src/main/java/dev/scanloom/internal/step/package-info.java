/** The semantics as data: the table of steps, step lists, addresses, shapes and names. */
package dev.scanloom.internal.step;
