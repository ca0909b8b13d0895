/** How values are represented in slots: arithmetic, conversion, text. Shared by folding and both executors, so that they agree. */
package dev.scanloom.internal.value;
