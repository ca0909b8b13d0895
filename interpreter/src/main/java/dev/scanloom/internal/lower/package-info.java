/** Checked model to step lists: layout of memory, and one lowering for ST, ladder and sequential function charts. */
package dev.scanloom.internal.lower;
