package dev.scanloom;

import dev.scanloom.observe.Observer;
import dev.scanloom.policy.ScanPolicy;
import java.util.Optional;

/**
 * One machine that runs a compiled program under a scan policy. Mutable and confined to one thread, {@link #interrupt()} apart.
 *
 * <p>Times are virtual, in nanoseconds since the controller was made; they advance by the policy's costs, its trigger and {@link #passTime} alone.
 */
public final class Controller {
  Controller() {}

  public CompiledProgram program() {
    throw new UnsupportedOperationException("not written yet");
  }

  public ScanPolicy policy() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** As {@link CompiledProgram#variable}. */
  public Variable variable(String path) {
    return program().variable(path);
  }

  /** As {@link CompiledProgram#bool}. */
  public Variable.Bool bool(String path) {
    return program().bool(path);
  }

  public Variable.Integer integer(String path) {
    return program().integer(path);
  }

  public Variable.Real real(String path) {
    return program().real(path);
  }

  public Variable.Text text(String path) {
    return program().text(path);
  }

  /** The terminals. */
  public Place field() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The process image and all variables; setting is an external write. */
  public Place memory() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The first display of the policy. */
  public Place.Display display() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** @throws IllegalArgumentException when the policy has no display of that name */
  public Place.Display display(String name) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * Waits (in virtual time) for the next scan and runs it whole; a scan that was begun with {@link #step()} is finished.
   *
   * @return false when a fault or {@link #interrupt()} ended it; nothing happens after a fault until a restart
   */
  public boolean scan() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** {@link #scan()} up to {@code n} times; the number of scans completed. */
  public int scan(int n) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * Runs whole scans as long as the next one begins before {@code time}; then lets time pass until then.
   *
   * @throws IllegalStateException when a scan passes without any virtual time, so that the time would never come
   */
  public boolean runUntil(long time) {
    throw new UnsupportedOperationException("not written yet");
  }

  /**
   * Runs one step (with the phases in front of it) and stops before the next one.
   *
   * @return true when it stopped inside a scan; false when the scan has ended, or after a fault
   */
  public boolean step() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Number of the step that comes next, -1 when no scan is in progress. */
  public int nextStep() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** A scan has begun and not ended. */
  public boolean isInScan() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Lets virtual time pass without a scan; I/O subsystems and displays go on. */
  public void passTime(long nanoseconds) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Asks a running scan to stop, from any thread; it does so within 1,024 steps and can be gone on with. */
  public void interrupt() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Scans completed. */
  public long scans() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Virtual time now. */
  public long time() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Virtual time at which the last scan began; -1 before the first. */
  public long scanStart() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Steps executed in the last scan so far. */
  public long steps() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** What stopped the controller. */
  public Optional<Fault> fault() {
    throw new UnsupportedOperationException("not written yet");
  }

  public Snapshot snapshot() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** @throws IllegalArgumentException when the snapshot is of another program or policy */
  public void restore(Snapshot snapshot) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Attaches an observer; told of what happens from now on. */
  public void attach(Observer observer) {
    throw new UnsupportedOperationException("not written yet");
  }

  public void detach(Observer observer) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** All variables to their initial values, also retained ones (IEC 61131-3, cold restart). Terminals, forces and the clock stay; a fault is cleared. */
  public void restartCold() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** As {@link #restartCold}, but retained variables keep their values (IEC 61131-3, warm restart). */
  public void restartWarm() {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Forces a variable (not a string) to the value of an IEC literal: an input against its refresh, an output against its delivery. */
  public void force(Variable variable, String literal) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** The same with a slot value. */
  public void force(Variable variable, long bits) {
    throw new UnsupportedOperationException("not written yet");
  }

  /** Ends a force; the value it left stays until something else is written. */
  public void unforce(Variable variable) {
    throw new UnsupportedOperationException("not written yet");
  }

  public boolean isForced(Variable variable) {
    throw new UnsupportedOperationException("not written yet");
  }
}
