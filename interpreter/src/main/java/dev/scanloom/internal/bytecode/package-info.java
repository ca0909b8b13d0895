/** Step lists to JVM bytecode: the compiled executor. It has no meaning of its own; every row of the table of steps is translated as it stands. */
package dev.scanloom.internal.bytecode;
