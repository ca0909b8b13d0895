package dev.scanloom.stdlib;

import java.util.ArrayList;
import java.util.List;

/**
 * Finds the blocks of a declaration file by its lines, without parsing. It relies on how these files are written, which a test holds: a
 * block
 * is a comment that begins with {@code (*} in the first column, the header line, and everything up to a line with the end keyword.
 */
final class DeclarationScan {
  private static final String[] KEYWORDS = {"FUNCTION", "FUNCTION_BLOCK", "CLASS", "TYPE"};

  private DeclarationScan() {}

  /**
   * One declaration.
   *
   * @param name declared name
   * @param start offset of its comment
   * @param end offset behind its end keyword
   * @param line line of its comment, from 1
   */
  record Block(String name, int start, int end, int line) {}

  static List<Block> blocks(String text) {
    List<Block> blocks = new ArrayList<>();
    int commentStart = -1;
    int commentLine = 0;
    String name = null;
    String endKeyword = null;
    int line = 0;
    int offset = 0;
    while (offset < text.length()) {
      line++;
      int end = text.indexOf('\n', offset);
      int next = end < 0 ? text.length() : end + 1;
      end = end < 0 ? text.length() : end;
      if (endKeyword != null) {
        if (end - offset == endKeyword.length() && text.startsWith(endKeyword, offset)) {
          blocks.add(new Block(name, commentStart, end, commentLine));
          commentStart = -1;
          endKeyword = null;
        }
      } else if (text.startsWith("(*", offset)) {
        commentStart = offset;
        commentLine = line;
      } else if (commentStart >= 0) {
        for (String keyword : KEYWORDS) {
          if (text.startsWith(keyword + " ", offset)) {
            int from = offset + keyword.length() + 1;
            int to = from;
            while (to < end && (Character.isLetterOrDigit(text.charAt(to)) || text.charAt(to) == '_')) {
              to++;
            }
            name = text.substring(from, to);
            endKeyword = "END_" + keyword;
          }
        }
      }
      offset = next;
    }
    if (endKeyword != null) {
      throw new IllegalStateException(name + " has no " + endKeyword);
    }
    return blocks;
  }
}
