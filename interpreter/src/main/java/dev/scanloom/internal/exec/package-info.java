/** The stepping executor. */
package dev.scanloom.internal.exec;
