/**
 * The scan engine: phases, tasks, the virtual clock, the process image, displays, forces. The place where policies are called. In: lowered code, a scan
 * policy, limits, what the host sets. Out: events, field, memory, displays. Called by the facade alone.
 */
package dev.scanloom.internal.scan;
