package dev.scanloom.stdlib;

import static dev.scanloom.model.ElementaryType.DATE;
import static dev.scanloom.model.ElementaryType.DT;
import static dev.scanloom.model.ElementaryType.INT;
import static dev.scanloom.model.ElementaryType.LDT;
import static dev.scanloom.model.ElementaryType.LTOD;
import static dev.scanloom.model.ElementaryType.TOD;
import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import dev.scanloom.library.BodyFault;
import java.time.DateTimeException;
import java.time.LocalDate;
import java.time.LocalDateTime;
import java.time.LocalTime;
import java.time.ZoneOffset;
import java.util.Random;
import org.junit.jupiter.api.Test;

/** Table 36 against java.time, over every day of 1678 to 2261 (more than 1970 to 2106) and random instants. */
class DateBodiesTest {
  private static final long DAY = 86_400_000_000_000L;

  @Test
  void everyDaySplitsJoinsAndHasItsDayOfTheWeek() {
    LocalDate last = LocalDate.of(2261, 12, 31);
    for (LocalDate d = LocalDate.of(1678, 1, 1); !d.isAfter(last); d = d.plusDays(1)) {
      long value = d.toEpochDay() * DAY;
      TestFrame split = TestFrame.to(INT).with(DATE, value).with(INT, 0).with(INT, 0).with(INT, 0).call("split_date");
      if (split.bits(1) != d.getYear() || split.bits(2) != d.getMonthValue() || split.bits(3) != d.getDayOfMonth()) {
        assertThat(split.bits(1) + "-" + split.bits(2) + "-" + split.bits(3)).isEqualTo(d.toString());
      }
      long joined = TestFrame.to(DATE).with(INT, d.getYear()).with(INT, d.getMonthValue()).with(INT, d.getDayOfMonth()).call("concat_date")
          .result();
      if (joined != value) {
        assertThat(joined).as(d.toString()).isEqualTo(value);
      }
      // ISO counts Monday 1 to Sunday 7; the standard Sunday 0 to Saturday 6.
      long day = TestFrame.to(INT).with(DATE, value).call("day_of_week").result();
      if (day != d.getDayOfWeek().getValue() % 7) {
        assertThat(day).as(d.toString()).isEqualTo(d.getDayOfWeek().getValue() % 7);
      }
    }
  }

  @Test
  void everyPossibleAndImpossibleDateIsJudgedAsJavaTimeDoes() {
    for (int year : new int[] {1678, 1700, 1899, 1900, 1999, 2000, 2023, 2024, 2100, 2104, 2261}) {
      for (int month = -1; month <= 14; month++) {
        for (int day = -1; day <= 33; day++) {
          TestFrame frame = TestFrame.to(DATE).with(INT, year).with(INT, month).with(INT, day);
          Long expected;
          try {
            expected = LocalDate.of(year, month, day).toEpochDay() * DAY;
          } catch (DateTimeException e) {
            expected = null;
          }
          if (expected == null) {
            assertThatThrownBy(() -> frame.call("concat_date")).as("%d %d %d", year, month, day).isInstanceOf(BodyFault.class)
                .extracting(e -> ((BodyFault) e).code()).isEqualTo("fault/date-part");
          } else {
            assertThat(frame.call("concat_date").result()).as("%d %d %d", year, month, day).isEqualTo(expected);
          }
        }
      }
    }
    for (long year : new long[] {1677, 2262, 0, -5, (1L << 32) + 2024, Long.MIN_VALUE}) {
      assertThatThrownBy(() -> TestFrame.to(DATE).with(INT, year).with(INT, 1).with(INT, 1).call("concat_date"))
          .isInstanceOf(BodyFault.class);
    }
  }

  @Test
  void instantsSplitAndJoin() {
    Random random = new Random(36);
    for (int i = 0; i < 200_000; i++) {
      long value = random.nextLong();
      LocalDateTime expected = LocalDateTime.ofEpochSecond(Math.floorDiv(value, 1_000_000_000L), (int) Math.floorMod(value, 1_000_000_000L),
          ZoneOffset.UTC);
      TestFrame split = TestFrame.to(INT).with(LDT, value);
      for (int p = 0; p < 7; p++) {
        split.with(INT, 0);
      }
      split.call("split_dt");
      LocalDateTime found = LocalDateTime.of((int) split.bits(1), (int) split.bits(2), (int) split.bits(3), (int) split.bits(4),
          (int) split.bits(5),
          (int) split.bits(6), (int) split.bits(7) * 1_000_000);
      LocalDateTime cut = expected.withNano(expected.getNano() / 1_000_000 * 1_000_000);
      if (!found.equals(cut)) {
        assertThat(found).as("%d", value).isEqualTo(cut);
      }
      if (cut.getYear() >= 1678 && cut.getYear() <= 2261) {
        TestFrame join = TestFrame.to(DT);
        for (int p = 1; p <= 7; p++) {
          join.with(INT, split.bits(p));
        }
        assertThat(join.call("concat_dt").result()).isEqualTo(cut.toEpochSecond(ZoneOffset.UTC) * 1_000_000_000L + cut.getNano());
      }
    }
  }

  @Test
  void timesOfDay() {
    Random random = new Random(37);
    for (int i = 0; i < 50_000; i++) {
      LocalTime t = LocalTime.ofNanoOfDay(Math.floorMod(random.nextLong(), DAY));
      TestFrame split = TestFrame.to(INT).with(LTOD, t.toNanoOfDay()).with(INT, 0).with(INT, 0).with(INT, 0).with(INT, 0).call("split_tod");
      assertThat(new long[] {split.bits(1), split.bits(2), split.bits(3), split.bits(4)})
          .containsExactly(t.getHour(), t.getMinute(), t.getSecond(), t.getNano() / 1_000_000);
      assertThat(TestFrame.to(TOD).with(INT, t.getHour()).with(INT, t.getMinute()).with(INT, t.getSecond()).with(INT,
          t.getNano() / 1_000_000).call("concat_tod").result())
          .isEqualTo(t.toNanoOfDay() / 1_000_000 * 1_000_000);
    }
    int[][] wrong = {{24, 0, 0, 0}, {-1, 0, 0, 0}, {0, 60, 0, 0}, {0, -1, 0, 0}, {0, 0, 60, 0}, {0, 0, -1, 0}, {0, 0, 0, 1000}, {0, 0, 0,
        -1}};
    for (int[] w : wrong) {
      assertThatThrownBy(() -> TestFrame.to(TOD).with(INT, w[0]).with(INT, w[1]).with(INT, w[2]).with(INT, w[3]).call("concat_tod"))
          .isInstanceOf(BodyFault.class);
    }
  }

  @Test
  void dateAndTimeOfDayJoin() {
    LocalDate date = LocalDate.of(2024, 2, 29);
    LocalTime time = LocalTime.of(12, 30, 0, 1);
    assertThat(TestFrame.to(LDT).with(DATE, date.toEpochDay() * DAY).with(LTOD, time.toNanoOfDay()).call("concat_date_tod").result())
        .isEqualTo(date.toEpochDay() * DAY + time.toNanoOfDay());
    // The last day that a count of nanoseconds reaches ends at 23:47:16.854775807.
    long lastDay = Math.floorDiv(Long.MAX_VALUE, DAY) * DAY;
    assertThat(TestFrame.to(LDT).with(DATE, lastDay).with(LTOD, Long.MAX_VALUE - lastDay).call("concat_date_tod").result())
        .isEqualTo(Long.MAX_VALUE);
    assertThatThrownBy(() -> TestFrame.to(LDT).with(DATE, lastDay).with(LTOD, Long.MAX_VALUE - lastDay + 1).call("concat_date_tod"))
        .isInstanceOf(BodyFault.class)
        .extracting(e -> ((BodyFault) e).code()).isEqualTo("fault/overflow");
  }
}
