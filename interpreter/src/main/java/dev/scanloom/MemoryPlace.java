package dev.scanloom;

/** To be filled in. */
final class MemoryPlace extends Values implements Place {
}
