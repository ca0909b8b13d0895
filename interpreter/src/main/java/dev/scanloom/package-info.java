/**
 * Compile text, make a controller with a scan policy, set inputs, scan, read three places. The only package that knows all stages; nothing else
 * imports it but what is built on top.
 */
package dev.scanloom;
