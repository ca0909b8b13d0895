/** Syntax trees to the checked model: names resolved, types known, constants folded, static rules applied. */
package dev.scanloom.internal.check;
