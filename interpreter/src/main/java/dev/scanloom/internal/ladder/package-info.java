/** A drawing in characters to a graph of networks, and back. */
package dev.scanloom.internal.ladder;
