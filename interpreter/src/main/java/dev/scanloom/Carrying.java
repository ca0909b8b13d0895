package dev.scanloom;

import dev.scanloom.internal.memory.Inventory;
import dev.scanloom.internal.memory.Inventory.Held;
import dev.scanloom.internal.memory.Inventory.Part;
import dev.scanloom.internal.scan.Engine;
import dev.scanloom.internal.step.Address;
import dev.scanloom.internal.step.Shape;
import dev.scanloom.internal.value.ValueText;
import java.io.ByteArrayOutputStream;
import java.io.DataOutputStream;
import java.io.IOException;
import java.nio.BufferUnderflowException;
import java.nio.ByteBuffer;
import java.nio.charset.StandardCharsets;
import java.util.ArrayDeque;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.zip.CRC32C;

/** Carries values by name and type: to and from the bytes of retained memory, and from one program to another. */
final class Carrying {
  private static final byte[] MAGIC = "SCANLOOM RETAIN\n".getBytes(StandardCharsets.US_ASCII);
  static final int VERSION = 1;

  private Carrying() {}

  /** Names are the same in any case of letters. */
  private static String key(String name) {
    return name.toUpperCase(Locale.ROOT);
  }

  // ---- bytes ----

  /** What was read. */
  record Image(long program, long signature, long time, Map<String, Held> values) {}

  static byte[] write(Engine engine, long hash) {
    try {
      ByteArrayOutputStream bytes = new ByteArrayOutputStream();
      DataOutputStream out = new DataOutputStream(bytes);
      Inventory inventory = engine.inventory();
      List<Part> parts = inventory.parts().stream().filter(Part::retained).toList();
      out.write(MAGIC);
      out.writeInt(VERSION);
      out.writeLong(hash);
      out.writeLong(inventory.signature());
      out.writeLong(engine.time());
      out.writeInt(parts.size());
      for (Part p : parts) {
        Held h = engine.hold(p);
        text(out, p.key());
        text(out, h.path());
        text(out, h.type());
        out.writeInt(h.words().length);
        for (long w : h.words()) {
          out.writeLong(w);
        }
        out.writeInt(h.targets().size());
        for (String t : h.targets()) {
          text(out, t);
        }
      }
      CRC32C sum = new CRC32C();
      sum.update(bytes.toByteArray());
      out.writeInt((int) sum.getValue());
      return bytes.toByteArray();
    } catch (IOException e) {
      throw new IllegalStateException("memory cannot fail to be written to", e);
    }
  }

  private static void text(DataOutputStream out, String s) throws IOException {
    byte[] b = s.getBytes(StandardCharsets.UTF_8);
    out.writeInt(b.length);
    out.write(b);
  }

  static Image read(byte[] content) throws Transfer.Refused {
    if (content.length < MAGIC.length + 8 || !Arrays.equals(content, 0, MAGIC.length, MAGIC, 0, MAGIC.length)) {
      throw new Transfer.Refused("this is no retained memory: it does not begin with its mark");
    }
    ByteBuffer in = ByteBuffer.wrap(content);
    in.position(MAGIC.length);
    int version = in.getInt();
    if (version != VERSION) {
      throw new Transfer.Refused("retained memory has version " + version + "; this library reads version " + VERSION);
    }
    CRC32C sum = new CRC32C();
    sum.update(content, 0, content.length - 4);
    if ((int) sum.getValue() != ByteBuffer.wrap(content, content.length - 4, 4).getInt()) {
      throw new Transfer.Refused("retained memory is damaged: its checksum is wrong");
    }
    in.limit(content.length - 4);
    try {
      long program = in.getLong();
      long signature = in.getLong();
      long time = in.getLong();
      int n = in.getInt();
      Map<String, Held> values = new LinkedHashMap<>();
      for (int i = 0; i < n; i++) {
        String key = text(in);
        String path = text(in);
        String type = text(in);
        long[] words = new long[count(in, 8)];
        for (int k = 0; k < words.length; k++) {
          words[k] = in.getLong();
        }
        int led = count(in, 4);
        List<String> targets = new ArrayList<>();
        for (int k = 0; k < led; k++) {
          targets.add(text(in));
        }
        values.put(key(key), new Held(path, type, words, targets));
      }
      return new Image(program, signature, time, values);
    } catch (BufferUnderflowException e) {
      throw new Transfer.Refused("retained memory is damaged: it ends too early");
    }
  }

  private static int count(ByteBuffer in, int size) throws Transfer.Refused {
    int n = in.getInt();
    if (n < 0 || n > in.remaining() / size) {
      throw new Transfer.Refused("retained memory is damaged: it tells of " + n + " values where " + in.remaining() + " bytes are left");
    }
    return n;
  }

  private static String text(ByteBuffer in) throws Transfer.Refused {
    byte[] b = new byte[count(in, 1)];
    in.get(b);
    return new String(b, StandardCharsets.UTF_8);
  }

  // ---- restart from bytes ----

  static Transfer load(Engine engine, Image image, long hash) {
    Report report = new Report();
    List<Part> parts = new ArrayList<>();
    List<Held> held = new ArrayList<>();
    Map<String, Held> rest = new LinkedHashMap<>(image.values());
    List<Part> kept = new ArrayList<>();
    for (Part p : engine.inventory().parts()) {
      if (!p.retained()) {
        continue;
      }
      Held h = rest.get(key(p.key()));
      if (h == null) {
        report.initialized(p, "not in the retained memory");
      } else if (!Inventory.fits(p, h)) {
        report.initialized(p, "was " + h.type());
        report.dropped(h.path(), h.type(), "", "is " + p.type() + " now", p.hidden());
        rest.remove(key(p.key()));
      } else {
        rest.remove(key(p.key()));
        parts.add(p);
        held.add(h);
        kept.add(p);
      }
    }
    rest.forEach((k, h) -> report.dropped(h.path(), h.type(), "", "no longer declared and retained", h.path().contains("$")));
    if (image.time() > engine.time()) {
      engine.passTime(image.time() - engine.time());
    }
    List<Integer> astray = engine.restart(parts, held);
    return report.finish(engine, kept, astray, hash == image.program() && rest.isEmpty());
  }

  // ---- from a running controller ----

  static Transfer takeOver(Engine engine, Engine old, boolean same) {
    Report report = new Report();
    Map<String, Part> rest = new LinkedHashMap<>();
    for (Part p : old.inventory().parts()) {
      rest.put(key(p.key()), p);
    }
    List<Part> mine = new ArrayList<>();
    List<Part> theirs = new ArrayList<>();
    List<Part> fresh = new ArrayList<>();
    List<Part> candidates = new ArrayList<>();
    List<Part> edges = new ArrayList<>();
    for (Part p : engine.inventory().parts()) {
      Part o = rest.remove(key(p.key()));
      if (o != null && o.type().equals(p.type()) && o.isLocated() == p.isLocated() && (!p.isLocated() || o.address() == p.address())) {
        mine.add(p);
        theirs.add(o);
        continue;
      }
      if (o == null && !edge(p).isEmpty()) {
        edges.add(p);
        continue;
      }
      String why = o == null ? "new" : o.type().equals(p.type()) ? "was at " + place(o) : "was " + o.type();
      if (o != null) {
        report.dropped(o.path(), o.type(), value(old, o), o.type().equals(p.type()) ? "is at " + place(p) + " now" : "is " + p.type() + " now", o.hidden());
      }
      if (p.isLocated()) {
        candidates.add(p);
      }
      report.initialized(p, why);
    }
    // The network of a transition-sensing element has changed: its memory is that of an element with the same operand.
    Map<String, ArrayDeque<Part>> free = new LinkedHashMap<>();
    for (Part o : edges.isEmpty() ? List.<Part>of() : List.copyOf(rest.values())) {
      if (!edge(o).isEmpty()) {
        free.computeIfAbsent(edge(o), k -> new ArrayDeque<>()).add(o);
      }
    }
    for (Part p : edges) {
      Part o = free.containsKey(edge(p)) ? free.get(edge(p)).poll() : null;
      if (o == null) {
        report.initialized(p, "new");
      } else {
        rest.remove(key(o.key()));
        mine.add(p);
        theirs.add(o);
      }
    }
    for (Part p : candidates) {
      // An input shows its terminal; a place that another variable has already is that variable's.
      if (Address.area(p.address()) != 1 && theirs.stream().noneMatch(t -> overlap(t, p))) {
        fresh.add(p);
      } else {
        report.stays(p);
      }
    }
    rest.values().forEach(o -> report.dropped(o.path(), o.type(), value(old, o), "no longer declared", o.hidden()));
    List<Integer> astray = engine.takeOver(old, mine, theirs, fresh);
    return report.finish(engine, mine, astray, same);
  }

  /** Path of the memory of a transition-sensing element without the text of its network; empty for other parts. */
  private static String edge(Part p) {
    int at = p.key().lastIndexOf('$');
    String name = at < 0 ? "" : p.key().substring(at);
    if (!p.hidden() || !name.startsWith("$contact_") && !name.startsWith("$coil_")) {
      return "";
    }
    return key(p.key().substring(0, at + name.indexOf('_', name.indexOf('_') + 1)));
  }

  private static String place(Part p) {
    return p.isLocated() ? Address.text(p.address(), Inventory.width(p)) : "no location";
  }

  private static boolean overlap(Part a, Part b) {
    if (!a.isLocated() || Address.area(a.address()) != Address.area(b.address())) {
      return false;
    }
    return a.address() < b.address() + bits(b) && b.address() < a.address() + bits(a);
  }

  private static long bits(Part p) {
    return (long) Inventory.width(p) * (p.shape() instanceof Shape.Array a ? a.count() : 1);
  }

  private static String value(Engine engine, Part p) {
    if (p.shape() instanceof Shape.Array a) {
      return a.count() + " elements";
    }
    if (p.isReference()) {
      List<String> to = engine.hold(p).targets();
      String first = to.isEmpty() ? "" : to.get(0);
      int end = first.indexOf(' ');
      return first.isEmpty() ? "NULL" : "REF(" + (end < 0 ? first : first.substring(0, end)) + ")";
    }
    if (p.shape() instanceof Shape.Text t) {
      return ValueText.of(engine.memory().text((int) p.address(), t.kind().ordinal()), t.kind());
    }
    Shape.Scalar s = (Shape.Scalar) p.shape();
    long bits = engine.memory().read(p.address(), s.kind().ordinal());
    String name = s.names().get(bits);
    return name != null ? s.typeName() + "#" + name : ValueText.of(bits, s.kind());
  }

  /** Collects what a transfer did; values of the new program are told as they are afterwards. */
  private static final class Report {
    private record New(Part part, String reason) {}

    private final List<New> initialized = new ArrayList<>();
    private final List<Transfer.Item> dropped = new ArrayList<>();
    private final List<Part> staying = new ArrayList<>();

    void initialized(Part p, String reason) {
      initialized.add(new New(p, reason));
    }

    /** Begins with what its location holds. */
    void stays(Part p) {
      staying.add(p);
      initialized.removeIf(n -> n.part() == p);
    }

    void dropped(String path, String type, String value, String reason, boolean hidden) {
      if (!hidden) {
        dropped.add(new Transfer.Item(path, type, value, reason));
      }
    }

    Transfer finish(Engine engine, List<Part> carried, List<Integer> astray, boolean same) {
      List<Transfer.Item> kept = new ArrayList<>();
      List<Transfer.Item> fresh = new ArrayList<>();
      Set<Integer> lost = new TreeSet<>(astray);
      for (int i = 0; i < carried.size(); i++) {
        Part p = carried.get(i);
        if (p.hidden()) {
          continue;
        }
        if (lost.contains(i)) {
          fresh.add(new Transfer.Item(p.path(), p.type(), value(engine, p), "what it referred to no longer exists"));
        } else {
          kept.add(new Transfer.Item(p.path(), p.type(), value(engine, p), "name and type are unchanged"));
        }
      }
      for (Part p : staying) {
        kept.add(new Transfer.Item(p.path(), p.type(), value(engine, p), "holds what its location held"));
      }
      for (New n : initialized) {
        if (!n.part().hidden()) {
          fresh.add(new Transfer.Item(n.part().path(), n.part().type(), value(engine, n.part()), n.reason()));
        }
      }
      return new Transfer(kept, fresh, dropped, same);
    }
  }
}
