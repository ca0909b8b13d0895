/** The command line: a class per command, built on the exported packages only. */
package dev.scanloom.examples.cli;
