package dev.scanloom.internal.step;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;

/**
 * Names of everything that can be watched, and back from addresses to names. Immutable.
 *
 * <p>Roots are program instances and global variables; members of the only program instance are also found by their bare name, and so are globals.
 */
public final class Symbols {
  /** A root: a program instance (composite) or a global variable. */
  public record Root(String name, boolean program, long address, Shape shape, Shape.Retention retention) {}

  /** What a path leads to. */
  public record Found(String path, long address, Shape shape) {}

  private final List<Root> roots;

  public Symbols(List<Root> roots) {
    this.roots = List.copyOf(roots);
  }

  public List<Root> roots() {
    return roots;
  }

  /**
   * Follows a path such as {@code a.b[2].c}, {@code prog.x}, in any case of letters. Empty when a part does not exist.
   */
  public Optional<Found> find(String path) {
    String text = path.trim();
    int end = nameEnd(text, 0);
    String first = text.substring(0, end);
    for (Root r : roots) {
      if (r.program() && soleProgram()) {
        Optional<Found> inside = member(r.name(), r.address(), r.shape(), first).flatMap(f -> follow(new Found(bare(f, r), f.address(), f.shape()), text, end));
        if (inside.isPresent()) {
          return inside;
        }
      }
    }
    for (Root r : roots) {
      if (r.name().equalsIgnoreCase(first)) {
        return follow(new Found(r.name(), r.address(), r.shape()), text, end);
      }
    }
    for (Root r : roots) {
      int dot = r.name().lastIndexOf('.');
      if (dot >= 0 && r.name().substring(dot + 1).equalsIgnoreCase(first)) {
        return follow(new Found(r.name().substring(dot + 1), r.address(), r.shape()), text, end);
      }
    }
    for (Root r : roots) {
      if (text.length() > r.name().length() && text.regionMatches(true, 0, r.name(), 0, r.name().length())
          && ".[".indexOf(text.charAt(r.name().length())) >= 0) {
        return follow(new Found(r.name(), r.address(), r.shape()), text, r.name().length());
      }
    }
    return Optional.empty();
  }

  private static String bare(Found f, Root r) {
    return f.path().startsWith(r.name() + ".") ? f.path().substring(r.name().length() + 1) : f.path();
  }

  private boolean soleProgram() {
    return roots.stream().filter(Root::program).count() == 1;
  }

  private static int nameEnd(String text, int from) {
    int i = from;
    while (i < text.length() && text.charAt(i) != '.' && text.charAt(i) != '[') {
      i++;
    }
    return i;
  }

  private static Optional<Found> member(String path, long address, Shape shape, String name) {
    if (!(shape instanceof Shape.Composite c)) {
      return Optional.empty();
    }
    return c.member(name)
        .filter(m -> !m.indirect())
        .map(m -> new Found(path + "." + m.name(), m.located() != 0 ? m.located() : address + m.offset(), m.shape()));
  }

  private static Optional<Found> follow(Found start, String text, int from) {
    Found at = start;
    int i = from;
    while (i < text.length()) {
      if (text.charAt(i) == '.') {
        int end = nameEnd(text, i + 1);
        Optional<Found> next = member(at.path(), at.address(), at.shape(), text.substring(i + 1, end));
        if (next.isEmpty()) {
          return next;
        }
        at = next.get();
        i = end;
      } else if (text.charAt(i) == '[' && at.shape() instanceof Shape.Array array) {
        int close = text.indexOf(']', i);
        if (close < 0) {
          return Optional.empty();
        }
        String[] parts = text.substring(i + 1, close).split(",");
        Optional<Found> next = element(at, array, parts);
        if (next.isEmpty()) {
          return next;
        }
        at = next.get();
        i = close + 1;
      } else {
        return Optional.empty();
      }
    }
    return Optional.of(at);
  }

  private static Optional<Found> element(Found at, Shape.Array array, String[] parts) {
    if (parts.length != array.bounds().size()) {
      return Optional.empty();
    }
    long index = 0;
    StringBuilder text = new StringBuilder(at.path()).append('[');
    for (int d = 0; d < parts.length; d++) {
      int[] b = array.bounds().get(d);
      int n;
      try {
        n = Integer.parseInt(parts[d].trim());
      } catch (NumberFormatException e) {
        return Optional.empty();
      }
      if (n < b[0] || n > b[1]) {
        return Optional.empty();
      }
      index = index * (b[1] - b[0] + 1) + (n - b[0]);
      text.append(d == 0 ? "" : ",").append(n);
    }
    long stride = Address.isLocated(at.address()) ? ((Shape.Scalar) array.element()).kind().bits() : array.element().slots();
    return Optional.of(new Found(text.append(']').toString(), at.address() + index * stride, array.element()));
  }

  /** The name of the variable (or its smallest named part) that lies at a slot address, or is a location of that width; else a location's own text. */
  public String nameOf(long address, int width) {
    for (Root r : roots) {
      Optional<String> name = search(r.program() && soleProgram() ? "" : r.name(), r.address(), r.shape(), address, width);
      if (name.isPresent()) {
        return name.get();
      }
    }
    return Address.text(address, width);
  }

  /** Addresses of the instances, structures, arrays and rows of arrays that hold a slot, outermost first: where a pointer to it plus an offset can begin. */
  public List<Long> around(long address) {
    List<Long> found = new ArrayList<>();
    for (Root r : roots) {
      around(r.address(), r.shape(), address, found);
    }
    return found;
  }

  private static void around(long base, Shape shape, long address, List<Long> found) {
    if (Address.isLocated(base) || address < base || address >= base + shape.slots()) {
      return;
    }
    if (shape instanceof Shape.Composite c) {
      found.add(base);
      for (Shape.Member m : c.members()) {
        if (m.located() == 0 && !m.indirect()) {
          around(base + m.offset(), m.shape(), address, found);
        }
      }
    } else if (shape instanceof Shape.Array a && a.element().slots() > 0) {
      long index = (address - base) / a.element().slots();
      long row = a.count();
      for (int[] bounds : a.bounds()) {
        found.add(base + index / row * row * a.element().slots());
        row /= bounds[1] - bounds[0] + 1L;
      }
      around(base + index * a.element().slots(), a.element(), address, found);
    }
  }

  private static Optional<String> search(String path, long base, Shape shape, long address, int width) {
    if (shape instanceof Shape.Composite c) {
      boolean inside = !Address.isLocated(address) && address >= base && address < base + c.slots();
      for (Shape.Member m : c.members()) {
        String name = path.isEmpty() ? m.name() : path + "." + m.name();
        if (m.located() != 0) {
          if (Address.isLocated(address)) {
            Optional<String> hit = search(name, m.located(), m.shape(), address, width);
            if (hit.isPresent()) {
              return hit;
            }
          }
        } else if (inside && address >= base + m.offset() && address < base + m.offset() + (m.indirect() ? 1 : Math.max(1, m.shape().slots()))) {
          return m.indirect() ? Optional.of(name) : search(name, base + m.offset(), m.shape(), address, width);
        } else if (Address.isLocated(address) && m.shape() instanceof Shape.Composite) {
          Optional<String> hit = search(name, base + m.offset(), m.shape(), address, width);
          if (hit.isPresent()) {
            return hit;
          }
        }
      }
      return inside ? Optional.of(path) : Optional.empty();
    }
    if (shape instanceof Shape.Array a) {
      boolean located = Address.isLocated(base);
      if (located != Address.isLocated(address)) {
        return Optional.empty();
      }
      int stride = located ? ((Shape.Scalar) a.element()).kind().bits() : a.element().slots();
      long at = address - base;
      if (at < 0 || stride == 0 || at >= (long) stride * a.count()) {
        return Optional.empty();
      }
      long index = at / stride;
      StringBuilder text = new StringBuilder();
      long rest = index;
      for (int d = a.bounds().size() - 1; d >= 0; d--) {
        int[] b = a.bounds().get(d);
        int length = b[1] - b[0] + 1;
        text.insert(0, (d == 0 ? "" : ",") + (b[0] + rest % length));
        rest /= length;
      }
      return search(path + "[" + text + "]", base + index * stride, a.element(), address, width);
    }
    if (Address.isLocated(base)) {
      // a byte and its first bit begin at the same place
      boolean same = address == base && (!(shape instanceof Shape.Scalar s) || s.kind().bits() == width);
      return same ? Optional.of(path) : Optional.empty();
    }
    return address >= base && address < base + shape.slots() ? Optional.of(path) : Optional.empty();
  }
}
