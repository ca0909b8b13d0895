/** Parses and interprets programs of IEC 61131-3 under pluggable scan policies. */
module dev.scanloom.interpreter {
  requires org.antlr.antlr4.runtime;
  requires org.slf4j;
  requires org.objectweb.asm;

  exports dev.scanloom;
  exports dev.scanloom.diagnostic;
  exports dev.scanloom.explain;
  exports dev.scanloom.library;
  exports dev.scanloom.model;
  exports dev.scanloom.observe;
  exports dev.scanloom.policy;
  exports dev.scanloom.report;
  exports dev.scanloom.teach;

  uses dev.scanloom.library.Library;
}
