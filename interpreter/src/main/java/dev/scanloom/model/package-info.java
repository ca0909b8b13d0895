/** Read-only vocabulary of programs: types, and what viewers and rules may know about a checked program. */
package dev.scanloom.model;
