/** How functions, function blocks and types written outside the core reach a program. */
package dev.scanloom.library;
