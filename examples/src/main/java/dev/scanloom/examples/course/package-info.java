/** A course in troubleshooting by bits, steps and the order of the scan: lessons with machines of our own, their pages built by one command. */
package dev.scanloom.examples.course;
