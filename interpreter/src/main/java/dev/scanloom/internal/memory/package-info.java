/** Slots, located areas, strings: the memory of one controller. */
package dev.scanloom.internal.memory;
