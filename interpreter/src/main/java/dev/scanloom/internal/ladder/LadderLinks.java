package dev.scanloom.internal.ladder;

import java.util.List;

/** The links that an element reads: its left link, of a box those of its inputs. */
final class LadderLinks implements Drawing.Visitor<List<Drawing.Link>> {
  private static final LadderLinks OF = new LadderLinks();

  private LadderLinks() {}

  static List<Drawing.Link> of(Drawing.Element e) {
    return e.accept(OF);
  }

  @Override
  public List<Drawing.Link> contact(Drawing.Contact e) {
    return List.of(e.left());
  }

  @Override
  public List<Drawing.Link> compare(Drawing.Compare e) {
    return List.of(e.left());
  }

  @Override
  public List<Drawing.Link> coil(Drawing.Coil e) {
    return List.of(e.left());
  }

  @Override
  public List<Drawing.Link> jump(Drawing.Jump e) {
    return List.of(e.left());
  }

  @Override
  public List<Drawing.Link> returnFrom(Drawing.Return e) {
    return List.of(e.left());
  }

  @Override
  public List<Drawing.Link> box(Drawing.Box e) {
    return e.inputs().stream().flatMap(p -> p.link().stream()).toList();
  }
}
