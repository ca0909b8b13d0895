package dev.scanloom.stdlib;

/**
 * The example of a declaration as a program. {@code y := E; // V} says that y, declared with the type that V shows, equals V afterwards;
 * any other statement
 * is followed by a condition that holds afterwards. {@code fb} is an instance of the declared block.
 */
record Example(String name, String text) {

  static Example of(Documented d) {
    String example = d.field("Example");
    int behind = example.lastIndexOf("; // ");
    String statement = example.substring(0, behind + 1);
    String value = example.substring(behind + 5);
    boolean assigns = statement.startsWith("y := ");
    StringBuilder program = new StringBuilder("PROGRAM Main\nVAR\n");
    if (d.isBlock()) {
      program.append("  fb : ").append(d.name()).append(";\n");
    }
    if (assigns) {
      program.append("  y : ").append(type(d, value)).append(";\n");
    }
    program.append("  i1, i2, i3, i4 : INT;\n  u1 : UDINT;\n  s20 : STRING[20];\n  table : ARRAY [2..5] OF INT;\n  done, ok : BOOL;\nEND_VAR\n");
    program.append("  ").append(statement).append('\n');
    program.append("  ok := ").append(assigns ? "y = " + value : value).append(";\n  done := TRUE;\nEND_PROGRAM\n");
    return new Example(d.name(), program.toString());
  }

  private static String type(Documented d, String value) {
    int sharp = value.indexOf('#');
    if (value.equals("TRUE") || value.equals("FALSE")) {
      return "BOOL";
    } else if (value.startsWith("'")) {
      return "STRING";
    } else if (value.startsWith("\"")) {
      return "WSTRING";
    } else if (sharp > 0) {
      return switch (value.substring(0, sharp)) {
        case "T" -> "TIME";
        case "LT" -> "LTIME";
        case "D" -> "DATE";
        case "LD" -> "LDATE";
        default -> value.substring(0, sharp);
      };
    }
    int colon = d.header().indexOf(" : ");
    String result = colon < 0 ? "ANY" : d.header().substring(colon + 3);
    return result.startsWith("ANY") ? value.contains(".") ? "REAL" : "INT" : result;
  }
}
