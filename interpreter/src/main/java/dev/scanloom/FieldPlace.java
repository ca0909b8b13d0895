package dev.scanloom;

/** To be filled in. */
final class FieldPlace extends Values implements Place {
}
