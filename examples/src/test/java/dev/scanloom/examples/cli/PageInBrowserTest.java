package dev.scanloom.examples.cli;

import static org.assertj.core.api.Assertions.assertThat;

import java.nio.file.Path;
import java.util.List;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.Assumptions;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.io.TempDir;
import org.openqa.selenium.By;
import org.openqa.selenium.Keys;
import org.openqa.selenium.WebElement;
import org.openqa.selenium.interactions.Actions;
import org.openqa.selenium.support.ui.Select;

/**
 * The page of the reference case in a real browser: a scripted walk through one scan, by buttons and by keys. Expectations follow from scan-model.md
 * section 5. Skipped, with a line that says so, where the machine has no Chromium with its driver.
 */
class PageInBrowserTest {
  @TempDir static Path folder;
  private static Browser browser;
  private static Path page;

  @BeforeAll
  static void openPage() {
    if (!Browser.isThere()) {
      System.out.println("SKIPPED: PageInBrowserTest needs chromium and chromedriver; neither is installed here");
    }
    Assumptions.assumeTrue(Browser.isThere(), "no chromium with its driver");
    page = folder.resolve("dryer.html");
    Cli cli = Cli.run("compare", Cli.shipped("dryer.st"), "--inputs", Cli.shipped("inputs.csv"), "--scans", "6", "--html", page.toString());
    assertThat(cli.code()).as(cli.err()).isZero();
    browser = new Browser(folder, false);
  }

  @AfterAll
  static void close() {
    if (browser != null) {
      browser.close();
    }
  }

  private static String now() {
    return browser.driver.findElement(By.id("now")).getText();
  }

  private static void click(String id) {
    browser.driver.findElement(By.id(id)).click();
  }

  private static void key(CharSequence keys) {
    new Actions(browser.driver).sendKeys(keys).perform();
  }

  private static String row(String variable) {
    for (WebElement r : browser.driver.findElements(By.cssSelector("#vals tbody tr"))) {
      if (r.findElement(By.tagName("th")).getText().startsWith(variable)) {
        StringBuilder b = new StringBuilder();
        for (WebElement c : r.findElements(By.cssSelector("td .v"))) {
          b.append(c.getText().strip().charAt(0));
        }
        return b + "|" + r.findElement(By.cssSelector("td.why")).getText();
      }
    }
    throw new AssertionError("no row for " + variable);
  }

  private static void open(String hash) {
    browser.driver.get("about:blank");
    browser.open(page, hash);
    assertThat(browser.js("return document.documentElement.dataset.ready")).isEqualTo("1");
  }

  @Test
  void walksThroughAScanByButtons() {
    open("#2/1");
    // values of a row: field, memory, display at scan start, display at scan end
    assertThat(now()).startsWith("Input refresh stores Door = 1 (was 0)").contains("scan 2 of 6, step 1 of 12").contains("A disagreement begins here");
    assertThat(row("Door")).isEqualTo("1110|scan end ≠ memory");
    click("next");
    assertThat(now()).startsWith("Display “scan start” samples");
    click("next");
    assertThat(now()).startsWith("Program begins");
    click("next");
    assertThat(now()).startsWith("Network 1, contact Door: reads Door = 1; conducts, power goes on");
    click("next");
    click("next");
    assertThat(now()).startsWith("Network 2, contact Key: reads Key = 0; does not conduct");
    click("next");
    assertThat(now()).startsWith("Network 2, coil %IX0.0: has no power; writes Door = 0 (was 1)");
    assertThat(row("Door")).startsWith("1010|field ≠ memory");
    click("next");
    assertThat(now()).startsWith("Network 3, contact Door: reads Door = 0; does not conduct");
    WebElement third = browser.driver.findElement(By.id("x2"));
    assertThat(third.getAttribute("aria-label")).isEqualTo("Network 3 executed: contact Door 0, coil Permit 0");
    assertThat(browser.driver.findElement(By.id("y2")).getAttribute("aria-label")).contains("contact Door 1 (executed 0)");
    click("next");
    assertThat(row("Permit")).isEqualTo("0000|");
    assertThat(browser.driver.getCurrentUrl()).endsWith("#2/9");
    click("back");
    assertThat(browser.driver.getCurrentUrl()).endsWith("#2/8");
    assertThat(browser.console()).isEmpty();
  }

  @Test
  void goesByKeys() {
    open("");
    assertThat(browser.driver.getCurrentUrl()).endsWith("#1/1");
    key(Keys.ARROW_RIGHT);
    assertThat(browser.driver.getCurrentUrl()).endsWith("#1/2");
    key(Keys.PAGE_DOWN);
    assertThat(browser.driver.getCurrentUrl()).endsWith("#2/2");
    key(Keys.END);
    assertThat(now()).contains("scan 6 of 6, step 12 of 12");
    key(Keys.ARROW_RIGHT);
    assertThat(now()).startsWith("This is the last step.");
    key(Keys.HOME);
    assertThat(browser.driver.getCurrentUrl()).endsWith("#1/1");
    key("d");
    String first = browser.driver.getCurrentUrl();
    assertThat(now()).contains("A disagreement begins here");
    key("d");
    assertThat(browser.driver.getCurrentUrl()).isNotEqualTo(first);
    key("D");
    assertThat(browser.driver.getCurrentUrl()).isEqualTo(first);
    key("r");
    assertThat(new Select(browser.driver.findElement(By.id("run"))).getFirstSelectedOption().getText()).isEqualTo("immediate inputs");
    key("?");
    assertThat(browser.js("return document.activeElement.id")).isEqualTo("keys-help");
    key("/");
    assertThat(browser.js("return document.activeElement.id")).isEqualTo("search");
    assertThat(browser.console()).isEmpty();
  }

  @Test
  void immediateInputsRefreshAtTheReadOfNetworkThree() {
    open("#3/1/2");
    assertThat(now()).contains("Run 2");
    browser.driver.findElement(By.id("search")).sendKeys("network 3, contact", Keys.ENTER);
    assertThat(now()).startsWith("Network 3, contact Door: reads Door = 1; conducts, power goes on");
    assertThat(row("Door")).startsWith("111");
    click("next");
    assertThat(row("Permit")).startsWith("11");
    assertThat(browser.console()).isEmpty();
  }

  @Test
  void breakpointsAndDeepLinks() {
    open("#1/1");
    new Select(browser.driver.findElement(By.id("watch"))).selectByVisibleText("Permit");
    click("break");
    assertThat(now()).startsWith("No further change of Permit in this run.");
    new Select(browser.driver.findElement(By.id("watch"))).selectByVisibleText("DoorLamp");
    click("break");
    assertThat(now()).startsWith("Network 1, coil DoorLamp: has power; writes DoorLamp = 1 (was 0)");
    // a reason below leads to the step it names
    WebElement link = browser.driver.findElement(By.cssSelector("#why a"));
    String target = link.getAttribute("href");
    browser.js("arguments[0].closest('details').open = true; arguments[0].click()", link);
    assertThat(browser.driver.getCurrentUrl()).isEqualTo(target);
    assertThat(browser.console()).isEmpty();
  }

  @Test
  void canBeUsedWithoutAMouse() {
    open("#1/1");
    // everything that can be clicked is a control with a name; no control is without one
    Object nameless = browser.js("""
        return Array.from(document.querySelectorAll('button, select, input, a')).filter(function (e) {
          return !(e.textContent.trim() || e.getAttribute('aria-label') || e.labels && e.labels.length || document.querySelector('label[for="' + e.id + '"]'));
        }).map(function (e) { return e.outerHTML; })""");
    assertThat((List<?>) nameless).isEmpty();
    assertThat(browser.driver.findElement(By.id("now")).getAttribute("aria-live")).isEqualTo("polite");
    assertThat((List<?>) browser.js("return Array.from(document.querySelectorAll('svg[role=img]')).filter(function (s) { return !s.getAttribute('aria-label'); })")).isEmpty();
    browser.driver.findElement(By.id("steps")).sendKeys(Keys.ARROW_RIGHT);
    assertThat(browser.driver.findElement(By.id("steps")).getAttribute("aria-activedescendant")).isEqualTo("s1");
  }

  @Test
  void asksTheNetworkForNothing() {
    open("#1/1");
    assertThat((List<?>) browser.js("return performance.getEntriesByType('resource').map(function (r) { return r.name; })")).isEmpty();
  }

  /** Pictures for people to look at, light and dark; that text stands out from its ground is measured (WCAG 2.1, 1.4.3: at least 4.5 to 1). */
  @Test
  void isLegibleInLightAndDark() throws Exception {
    for (boolean dark : new boolean[] {false, true}) {
      try (Browser own = new Browser(folder.resolve(dark ? "dark" : "light"), dark)) {
        own.open(page, "#6/9");
        own.screenshot(Path.of("target", "screenshots", dark ? "dryer-dark.png" : "dryer-light.png"));
        Object low = own.js("""
            function lum(c) { var m = c.match(/[\\d.]+/g).slice(0, 3).map(function (v) { v = v / 255; return v <= 0.03928 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); });
              return 0.2126 * m[0] + 0.7152 * m[1] + 0.0722 * m[2]; }
            function ground(e) { for (; e; e = e.parentElement) { var b = getComputedStyle(e).backgroundColor; if (!/, 0\\)$/.test(b) && b !== 'transparent') { return b; } }
              return getComputedStyle(document.body).backgroundColor; }
            var bad = [];
            document.querySelectorAll('h1, h2, h3, p, td, th, li, button, .v, #now, #now small, figcaption, #src .t, #src .n, label, summary').forEach(function (e) {
              if (!e.textContent.trim() || !e.offsetParent) { return; }
              var a = lum(getComputedStyle(e).color), b = lum(ground(e)), r = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
              if (r < 4.5) { bad.push(e.tagName + '.' + e.className + ' ' + r.toFixed(2) + ' ' + e.textContent.slice(0, 30)); }
            });
            return bad""");
        assertThat((List<?>) low).as(dark ? "dark" : "light").isEmpty();
      }
    }
  }
}
