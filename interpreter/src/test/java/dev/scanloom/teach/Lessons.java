package dev.scanloom.teach;

/** Exercises that tests share. */
final class Lessons {
  private Lessons() {}

  static final String DRYER = """
      PROGRAM Dryer
      VAR
        Door AT %IX0.0 : BOOL;  Key AT %IX0.1 : BOOL;
        Lamp AT %QX0.0 : BOOL;  Permit AT %QX0.1 : BOOL;
      END_VAR
      (* door shut: lamp *)
      |   Door              Lamp    |
      +---| |---------------( )-----+

      (* service key *)
      |   Key               Door    |
      +---| |---------------( )-----+

      (* door shut: permit *)
      |   Door              Permit  |
      +---| |---------------( )-----+
      END_PROGRAM
      """;

  /** The reference case of the scan model, without questions. */
  static Exercise dryer() {
    return Exercise.titled("The dryer's door").id("T01").story("The Door switch closes with the door. Key is the service key.").program(DRYER)
        .at(1, "Door", "TRUE").scans(2).watch("Door", "Permit");
  }
}
