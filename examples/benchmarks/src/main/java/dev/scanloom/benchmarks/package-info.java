/**
 * What a scan costs, beside the same logic written by hand and in general script engines. Every engine computes the same outputs; a test compares their
 * checksums.
 */
package dev.scanloom.benchmarks;
