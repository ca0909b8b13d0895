package dev.scanloom.report;

import static org.assertj.core.api.Assertions.assertThat;

import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import org.junit.jupiter.api.Test;

class PageTest {

  @Test
  void isOneFileThatAsksForNothingElse() throws Exception {
    String html = SamplePage.model("Three rungs", 4).html();
    Files.writeString(Path.of("target", "sample-page.html"), html);
    assertThat(html).startsWith("<!DOCTYPE html>").contains("default-src 'none'");
    assertThat(html.replace("http://www.w3.org/2000/svg", "")).doesNotContain("http:").doesNotContain("https:").doesNotContain("<link rel=\"stylesheet")
        .doesNotContain("src=\"");
  }

  @Test
  void textFromProgramsNeverBecomesMarkup() {
    String evil = "</script><script>alert(1)</script><img src=x onerror=alert(2)>&\"'\u2028\u0007";
    PageModel m = SamplePage.model(evil, 1);
    m.items.add(new PageModel.Item(evil, evil, "BOOL", ""));
    m.sources.add(dev.scanloom.diagnostic.SourceText.of(evil, evil));
    String html = m.html();
    // as many script elements as the page itself has, and not one character of the text that could open an element
    assertThat(html.split("<script", -1)).hasSize(3);
    assertThat(html.split("</script", -1)).hasSize(3);
    assertThat(html).doesNotContain("<img").doesNotContain("\u0007");
  }

  @Test
  void repeatedScansCostAlmostNothing() {
    int ten = SamplePage.model("x", 10).html().getBytes(StandardCharsets.UTF_8).length;
    int thousand = SamplePage.model("x", 1010).html().getBytes(StandardCharsets.UTF_8).length;
    // two runs, 1,000 more scans each: a start and a row number per scan
    assertThat(thousand - ten).isLessThan(2 * 1000 * 20);
  }
}
