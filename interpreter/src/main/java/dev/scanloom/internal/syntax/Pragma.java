package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.Span;

/** A pragma {@code {...}} (Table 4). {@code content} is the text between the braces, trimmed. */
public record Pragma(Span span, String content) {}
