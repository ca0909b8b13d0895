/** What the stages say about places in source texts. Values only; depends on nothing. */
package dev.scanloom.diagnostic;
