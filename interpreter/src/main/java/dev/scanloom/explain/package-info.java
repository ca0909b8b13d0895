/**
 * Why a value is what it is, where field, memory and displays disagree, and what would have to change. Built on the events of a run
 * alone: a {@link dev.scanloom.explain.Provenance} is attached to a controller and asked afterwards.
 */
package dev.scanloom.explain;
