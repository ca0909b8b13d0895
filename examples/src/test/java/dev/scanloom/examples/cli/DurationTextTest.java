package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;
import static org.assertj.core.api.Assertions.assertThatThrownBy;

import java.time.Duration;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

class DurationTextTest {

  /** Expected values by java.time, in its ISO 8601 form. */
  @ParameterizedTest
  @CsvSource({
      "10ms, PT0.01S", "T#10ms, PT0.01S", "t#10MS, PT0.01S", "TIME#1h30m, PT1H30M", "LT#5us, PT0.000005S", "LTIME#7ns, PT0.000000007S", "1.5s, PT1.5S",
      "T#1d2h3m4s5ms6us7ns, P1DT2H3M4.005006007S", "T#1d_2h, P1DT2H", "1_000ms, PT1S", "0.5ms, PT0.0005S", "90m, PT1H30M", "T#2.25h, PT2H15M", "1s500ms, PT1.5S"})
  void readsWhatPeopleAndTheStandardWrite(String text, String expected) {
    assertThat(DurationText.positive("--period", text)).isEqualTo(Duration.parse(expected));
  }

  @ParameterizedTest
  @CsvSource(delimiter = '|', value = {
      "0ms | --period: 0ms is zero; expected a duration greater than zero",
      "T#0s | --period: T#0s is zero; expected a duration greater than zero",
      "-5ms | --period: -5ms is negative; expected a duration greater than zero",
      "T#-5ms | --period: T#-5ms is negative; expected a duration greater than zero",
      "10 | --period: 10 has no unit; expected a duration such as 10ms or T#10ms",
      "1ms1s | --period: '1ms1s' is no duration; expected one such as 10ms or T#10ms, units d h m s ms us ns in falling order",
      "1s1s | --period: '1s1s' is no duration; expected one such as 10ms or T#10ms, units d h m s ms us ns in falling order",
      "1.5h30m | --period: '1.5h30m' is no duration; expected one such as 10ms or T#10ms, units d h m s ms us ns in falling order",
      "ms | --period: 'ms' is no duration; expected one such as 10ms or T#10ms, units d h m s ms us ns in falling order",
      "T# | --period: 'T#' is no duration; expected one such as 10ms or T#10ms, units d h m s ms us ns in falling order",
      "3 weeks | --period: 3 weeks has no unit; expected a duration such as 10ms or T#10ms",
      "0.5ns | --period: 0.5ns is finer than a nanosecond",
      "300000d | --period: 300000d is longer than the virtual clock can count (about 292 years)",
      "99999999999999999999999d | --period: 99999999999999999999999d is longer than the virtual clock can count (about 292 years)"})
  void refusesTheRestInOneSentence(String text, String message) {
    assertThatThrownBy(() -> DurationText.positive("--period", text)).isInstanceOf(UsageError.class).hasMessage(message);
  }
}
