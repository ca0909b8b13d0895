/**
 * The axes along which controllers differ, each an interface that a host can implement, and the built-in choices; a {@link
 * dev.scanloom.policy.ScanPolicy} is one choice per axis.
 *
 * <table>
 *   <caption>Axes</caption>
 *   <tr><th>axis</th><th>built in (default first)</th><th>decides</th></tr>
 *   <tr><td>{@link dev.scanloom.policy.InputAcquisition}</td><td>image, immediate, asynchronous</td><td>when the field is copied to {@code %I}</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.OutputDelivery}</td><td>image, immediate, asynchronous</td><td>when {@code %Q} is copied to the terminals</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.DisplaySampling}</td><td>scan end, scan start, asynchronous</td><td>when a screen samples memory</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.Painting}</td><td>from sample, from execution</td><td>when an element is painted as conducting</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.ScanTrigger}</td><td>free running, periodic, on demand</td><td>when the next scan begins</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.ExternalWrites}</td><td>between scans, any step</td><td>when a panel's or peer's write lands</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.TaskSwitching}</td><td>non-preemptive, preemptive, with priority inheritance</td><td>whether tasks interrupt each
 * other</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.ProcessImages}</td><td>shared, per task</td><td>whether tasks work on copies of the process image</td></tr>
 *   <tr><td>{@link dev.scanloom.policy.CostModel}</td><td>standard, fixed, zero</td><td>what steps and phases cost in virtual time</td></tr>
 * </table>
 */
package dev.scanloom.policy;
