/** What a run reports, and to whom. */
package dev.scanloom.observe;
