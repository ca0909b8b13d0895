/** Text to syntax tree. Nothing here knows what a name means. */
package dev.scanloom.internal.syntax;
