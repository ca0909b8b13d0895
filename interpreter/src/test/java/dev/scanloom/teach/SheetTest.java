package dev.scanloom.teach;

import static org.assertj.core.api.Assertions.assertThat;

import java.io.StringReader;
import java.util.List;
import java.util.Map;
import javax.xml.parsers.DocumentBuilderFactory;
import org.junit.jupiter.api.Test;
import org.xml.sax.InputSource;

class SheetTest {
  private static Solution hostile() {
    return Lessons.dryer().story("<script>alert(1)</script> & \"quotes\"").lesson("Memory is not the terminal. More.").program(Lessons.DRYER
        .replace("(* door shut: lamp *)", "(* </pre><img src=x onerror=alert(1)> *)"))
        .ask(Question.memory("Door", 1), Question.cureOfField("Permit", "TRUE", 1, Question.edit("key <on>", "|   Key  ", "|   Door "), Question.edit("no & cure",
            "Dryer", "Drier"))).solve();
  }

  /** As XML apart from the entities and void elements of HTML: a parser that knows nothing of us says that everything is closed and escaped. */
  private static void wellFormed(String html) throws Exception {
    String xml = html.replace("<!DOCTYPE html>", "").replace("&nbsp;", " ").replaceAll("<(meta [^>]*)>", "<$1/>");
    DocumentBuilderFactory.newInstance().newDocumentBuilder().parse(new InputSource(new StringReader(xml)));
  }

  @Test
  void pagesAreWellFormedEscapedAndSelfContained() throws Exception {
    Solution s = hostile();
    String sheet = Sheet.worksheet("Sheet <1>", List.of(s, s));
    String key = Sheet.key("Key", List.of(s, s));
    String lesson = Sheet.lesson(s, Map.of("Index", "index.html"));
    String index = Sheet.index("Course", "One.\n\nTwo.", List.of(new Sheet.Entry("Part", s, "a.html")), Map.of());
    for (String page : List.of(sheet, key, lesson, index)) {
      wellFormed(page);
      assertThat(page).doesNotContain("<script").doesNotContain("<img").doesNotContain("http://localhost").contains("prefers-color-scheme:dark")
          .contains("@media print").contains("not for commissioning");
    }
    assertThat(sheet).contains("&lt;script&gt;").doesNotContain("off (FALSE)").doesNotContain("not cured").doesNotContain("Memory is not the terminal");
    assertThat(key).contains("off (FALSE)").contains("not cured").contains("Nearest change").contains("Memory is not the terminal");
    assertThat(lesson).contains("<svg").contains("<details>");
    assertThat(index).contains("Memory is not the terminal.").doesNotContain("More.");
    assertThat(Sheet.stepThrough(s)).contains("T01");
    wellFormed(Sheet.timing(s));
    wellFormed(Sheet.ladder(s, 1));
  }
}
