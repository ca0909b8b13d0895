package dev.scanloom.internal.syntax;

import dev.scanloom.diagnostic.SourceText;
import dev.scanloom.diagnostic.Span;
import java.lang.reflect.RecordComponent;
import java.util.Collection;
import java.util.Optional;
import java.util.TreeSet;

/**
 * A syntax tree as text, without its places: {@code Assignment(x Chain(a Link(ADD 1)))}. Names stand as written, what is empty or false is
 * left out. Two trees of one shape mean the same.
 */
final class Shape {
  private Shape() {}

  static String of(Object node) {
    StringBuilder out = new StringBuilder();
    write(node, out);
    return out.toString();
  }

  private static void write(Object node, StringBuilder out) {
    if (node instanceof Optional<?> o) {
      o.ifPresent(value -> write(value, out));
    } else if (node instanceof Collection<?> c) {
      out.append('[');
      for (Object element : c instanceof java.util.Set<?> set ? new TreeSet<>(set) : c) {
        part(element, out);
      }
      out.append(']');
    } else if (node instanceof Expression.Ident i) {
      out.append(i.name());
    } else if (node instanceof Name || node instanceof QualifiedName) {
      out.append(node);
    } else if (node instanceof Expression.Literal l) {
      out.append(l.prefix().map(p -> p + "#").orElse("")).append(l.negative() ? "-" : "").append(l.text());
    } else if (node instanceof Body.Drawing d) {
      out.append("Drawing(").append(d.span().text().strip()).append(')');
    } else if (node instanceof Record r) {
      out.append(r.getClass().getSimpleName()).append('(');
      for (RecordComponent c : r.getClass().getRecordComponents()) {
        Object value = value(r, c);
        boolean empty = value instanceof Span || value instanceof SourceText || (value instanceof Optional<?> o && o.isEmpty())
            || Boolean.FALSE.equals(value) || (value instanceof Collection<?> all && all.isEmpty());
        if (!empty && Boolean.TRUE.equals(value)) {
          part(c.getName(), out);
        } else if (!empty) {
          part(value, out);
        }
      }
      out.append(')');
    } else if (node instanceof Character c) {
      out.append(c == 0 ? "-" : c.toString());
    } else {
      out.append(node);
    }
  }

  private static void part(Object value, StringBuilder out) {
    char last = out.charAt(out.length() - 1);
    if (last != '(' && last != '[') {
      out.append(' ');
    }
    write(value, out);
  }

  private static Object value(Record r, RecordComponent c) {
    try {
      return c.getAccessor().invoke(r);
    } catch (ReflectiveOperationException e) {
      throw new AssertionError(e);
    }
  }
}
