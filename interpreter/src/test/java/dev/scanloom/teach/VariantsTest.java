package dev.scanloom.teach;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import java.util.List;
import org.junit.jupiter.api.Test;

class VariantsTest {
  private static Exercise template() {
    return Lessons.dryer().rename("Door", "Hatch", "Lid", "Flap").rename("Key", "Test", "Jog").mayReaddress().mayInvert("Key").mayInvert("Door")
        .mayBe(1, "Door", "TRUE", "FALSE").mayBe(2, "Key", "TRUE", "FALSE")
        .ask(Question.field("Permit", 1), Question.memory("Door", Question.before(3, 1)), Question.field("Lamp", 2), Question.lastWriter("Door", 2));
  }

  @Test
  void variantsHaveDistinctAnswersAndRepeatBySeed() {
    List<Solution> some = Variants.of(template(), 5, 42);
    assertThat(some).hasSize(5);
    assertThat(some.stream().map(Solution::answers).distinct()).hasSize(5);
    assertThat(some.stream().map(s -> s.exercise().program()).distinct().count()).isGreaterThan(3);
    // Every variant compiles and its answers are those of a fresh run.
    for (Solution s : some) {
      assertThat(s.exercise().solve().answers()).isEqualTo(s.answers());
    }
    assertThat(Variants.of(template(), 5, 42).stream().map(s -> s.exercise().program())).isEqualTo(some.stream().map(s -> s.exercise().program()).toList());
    assertThat(Variants.of(template(), 5, 43).stream().map(s -> s.exercise().program())).isNotEqualTo(some.stream().map(s -> s.exercise().program()).toList());
  }

  @Test
  void thePointIsKeptWhenNetworksMove() {
    Exercise e = template().mayReorder().point(s -> !s.answer(1).equals(s.exercise().solve().answer(3)) || s.answer(4).matches("[0-9]+"));
    boolean moved = false;
    for (Solution s : Variants.of(e, 6, 5)) {
      // by hand: the coil on the input bit is the last writer wherever its network went, so its number tells where that is
      assertThat(s.answer(4)).matches("[123]");
      moved |= !s.answer(4).equals("2");
    }
    assertThat(moved).as("some variant moved the network that writes").isTrue();
  }

  @Test
  void lackOfFreedomIsSaid() {
    Exercise e = Lessons.dryer().rename("Door", "Lid").ask(Question.field("Permit", 1));
    assertThatThrownBy(() -> Variants.of(e, 2, 1)).isInstanceOf(IllegalArgumentException.class).hasMessageContaining("gives 1 variants");
  }

  @Test
  void aNameThatDoesNotFitTheDrawingIsNotDrawn() {
    Exercise e = Lessons.dryer().rename("Door", "ANameMuchTooLongForThisDrawing").mayInvert("Key").ask(Question.field("Permit", 1));
    assertThat(Variants.of(e, 2, 3)).allMatch(s -> s.exercise().program().contains("Door"));
  }
}
