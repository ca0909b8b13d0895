package dev.scanloom.internal.step;

import static org.assertj.core.api.Assertions.assertThat;

import java.lang.reflect.Field;
import org.junit.jupiter.api.Test;

/** Two lists that must agree. */
class OpNumberTest {

  @Test
  void everyOperationHasItsNumber() throws Exception {
    Field[] fields = OpNumber.class.getDeclaredFields();
    assertThat(fields).hasSize(Op.values().length);
    for (Op op : Op.values()) {
      assertThat(OpNumber.class.getField(op.name()).getInt(null)).as(op.name()).isEqualTo(op.ordinal());
    }
  }
}
