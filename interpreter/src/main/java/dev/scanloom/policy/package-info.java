/** The axes along which controllers differ, each an interface that a host can implement, and the built-in choices. */
package dev.scanloom.policy;
