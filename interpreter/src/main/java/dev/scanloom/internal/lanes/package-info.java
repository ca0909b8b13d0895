/**
 * Many controllers of one program, 64 to a word. What enters: a step list, a policy that acts at the ends of a scan only, and values of the host. What
 * leaves: the values, steps, times and faults that as many single machines would have. Boolean steps become JVM code on words, a bit a lane; stretches of
 * other steps are cut out of the bodies and run for each lane by the compiled executor; a scan in which a lane fails is repeated for that lane by a scan
 * engine of its own. Called by the facade only.
 */
package dev.scanloom.internal.lanes;
