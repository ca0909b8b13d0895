/** The standard functions and function blocks; found by the compiler as a service. */
module dev.scanloom.stdlib {
  requires transitive dev.scanloom.interpreter;

  exports dev.scanloom.stdlib;

  provides dev.scanloom.library.Library with
      dev.scanloom.stdlib.StandardLibrary;
}
