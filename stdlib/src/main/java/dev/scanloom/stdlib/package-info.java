/**
 * The functions and function blocks of IEC 61131-3 Tables 22 to 46. Enters: a name. Leaves: the text that declares it, and the Java body
 * where the declaration
 * names one. Called by the compiler through {@link dev.scanloom.library.Library}; nothing else here is for hosts.
 */
package dev.scanloom.stdlib;
