/**
 * What people and other programs see of a run: text tables, CSV and JSON Lines, waveforms (VCD), SVG pictures and the one-file HTML page. Enters: the
 * events of a controller and the read-only view of its program; leaves: text. Everything that comes from a program is escaped in one place.
 */
package dev.scanloom.report;
