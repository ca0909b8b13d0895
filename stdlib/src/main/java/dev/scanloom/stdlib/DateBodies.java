package dev.scanloom.stdlib;

import dev.scanloom.library.BodyFault;
import dev.scanloom.library.CallFrame;
import dev.scanloom.library.NativeBody;
import java.util.Map;

/** Dates and times of day from parts and into parts (Table 36), in the Gregorian calendar extended to all years. Units: nanoseconds. */
final class DateBodies {
  private static final long MILLISECOND = 1_000_000L;
  private static final long SECOND = 1_000 * MILLISECOND;
  private static final long MINUTE = 60 * SECOND;
  private static final long HOUR = 60 * MINUTE;
  private static final long DAY = 24 * HOUR;
  private static final int[] MONTH_LENGTHS = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

  /** Days of 400 years, after which the calendar repeats. */
  private static final long ERA = 146_097;

  private DateBodies() {}

  static void addTo(Map<String, NativeBody> all) {
    all.put("concat_date_tod", DateBodies::concatDateTod);
    all.put("concat_date", f -> f.setBits(CallFrame.RESULT, date(f)));
    all.put("concat_tod", f -> f.setBits(CallFrame.RESULT, timeOfDay(f, 0)));
    all.put("concat_dt", f -> f.setBits(CallFrame.RESULT, date(f) + timeOfDay(f, 3)));
    all.put("split_date", f -> splitDate(f, f.bits(0)));
    all.put("split_tod", f -> splitTimeOfDay(f, f.bits(0), 1));
    all.put("split_dt", DateBodies::splitDateAndTime);
    all.put("day_of_week", DateBodies::dayOfWeek);
  }

  private static void concatDateTod(CallFrame f) {
    long date = f.bits(0);
    long sum = date + f.bits(1);
    if (date > 0 && sum < 0) {
      throw new BodyFault("fault/overflow", "the date and time is later than the latest that there is");
    }
    f.setBits(CallFrame.RESULT, sum);
  }

  private static long date(CallFrame f) {
    int year = part(f, 0, "YEAR", 1678, 2261);
    int month = part(f, 1, "MONTH", 1, 12);
    boolean leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    int day = part(f, 2, "DAY", 1, month == 2 && leap ? 29 : MONTH_LENGTHS[month - 1]);
    // Years begin in March here, so that the leap day comes last; 306 days from March to the end of the year.
    long y = month > 2 ? year : year - 1;
    long dayOfYear = (153L * (month > 2 ? month - 3 : month + 9) + 2) / 5 + day - 1;
    long days = 365 * y + y / 4 - y / 100 + y / 400 + dayOfYear - 719_468;
    return days * DAY;
  }

  private static long timeOfDay(CallFrame f, int first) {
    return part(f, first, "HOUR", 0, 23) * HOUR + part(f, first + 1, "MINUTE", 0, 59) * MINUTE + part(f, first + 2, "SECOND", 0,
        59) * SECOND
        + part(f, first + 3, "MILLISECOND", 0, 999) * MILLISECOND;
  }

  private static int part(CallFrame f, int parameter, String name, int least, int greatest) {
    long value = f.bits(parameter);
    if (value < least || value > greatest) {
      throw new BodyFault("fault/date-part", name + " = " + value + " is outside " + least + " to " + greatest);
    }
    return (int) value;
  }

  private static void splitDateAndTime(CallFrame f) {
    long value = f.bits(0);
    splitDate(f, value);
    splitTimeOfDay(f, Math.floorMod(value, DAY), 4);
  }

  private static void splitDate(CallFrame f, long value) {
    long sinceMarch = Math.floorDiv(value, DAY) + 719_468;
    long era = Math.floorDiv(sinceMarch, ERA);
    long dayOfEra = sinceMarch - era * ERA;
    long yearOfEra = (dayOfEra - dayOfEra / 1_460 + dayOfEra / 36_524 - dayOfEra / 146_096) / 365;
    long dayOfYear = dayOfEra - (365 * yearOfEra + yearOfEra / 4 - yearOfEra / 100);
    long march = (5 * dayOfYear + 2) / 153;
    long month = march < 10 ? march + 3 : march - 9;
    f.setBits(1, yearOfEra + era * 400 + (month <= 2 ? 1 : 0));
    f.setBits(2, month);
    f.setBits(3, dayOfYear - (153 * march + 2) / 5 + 1);
  }

  private static void splitTimeOfDay(CallFrame f, long value, int first) {
    f.setBits(first, value / HOUR);
    f.setBits(first + 1, value / MINUTE % 60);
    f.setBits(first + 2, value / SECOND % 60);
    f.setBits(first + 3, value / MILLISECOND % 1_000);
  }

  /** 1970-01-01 was a Thursday, number 4. */
  private static void dayOfWeek(CallFrame f) {
    f.setBits(CallFrame.RESULT, Math.floorMod(Math.floorDiv(f.bits(0), DAY) + 4, 7));
  }
}
