package dev.scanloom.examples.cli;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.util.Optional;
import org.openqa.selenium.Dimension;
import org.openqa.selenium.OutputType;
import org.openqa.selenium.chrome.ChromeDriver;
import org.openqa.selenium.chrome.ChromeDriverService;
import org.openqa.selenium.chrome.ChromeOptions;
import org.openqa.selenium.logging.LogType;
import org.openqa.selenium.logging.LoggingPreferences;

/** A browser of the machine, if there is one; nothing is downloaded. */
final class Browser implements AutoCloseable {
  private static final Path[] PROGRAMS = {Path.of("/usr/bin/chromium"), Path.of("/usr/bin/chromium-browser"), Path.of("/usr/bin/google-chrome")};
  private static final Path[] DRIVERS = {Path.of("/usr/bin/chromedriver"), Path.of("/usr/lib/chromium/chromedriver")};

  final ChromeDriver driver;

  private static Optional<Path> first(Path[] paths) {
    for (Path p : paths) {
      if (Files.isExecutable(p)) {
        return Optional.of(p);
      }
    }
    return Optional.empty();
  }

  static boolean isThere() {
    return first(PROGRAMS).isPresent() && first(DRIVERS).isPresent();
  }

  Browser(Path profile, boolean dark) {
    ChromeOptions options = new ChromeOptions();
    options.setBinary(first(PROGRAMS).orElseThrow().toString());
    options.addArguments("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
        "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--disable-dev-shm-usage", "--window-size=1400,1600",
        "--user-data-dir=" + profile.resolve("profile"));
    LoggingPreferences logs = new LoggingPreferences();
    logs.enable(LogType.BROWSER, java.util.logging.Level.ALL);
    options.setCapability("goog:loggingPrefs", logs);
    ChromeDriverService service = new ChromeDriverService.Builder().usingDriverExecutable(first(DRIVERS).orElseThrow().toFile()).build();
    driver = new ChromeDriver(service, options);
    driver.manage().timeouts().implicitlyWait(Duration.ofSeconds(10)).pageLoadTimeout(Duration.ofSeconds(60));
    driver.manage().window().setSize(new Dimension(1400, 1600));
    if (dark) {
      driver.executeCdpCommand("Emulation.setEmulatedMedia",
          java.util.Map.of("features", java.util.List.of(java.util.Map.of("name", "prefers-color-scheme", "value", "dark"))));
    }
  }

  void open(Path page, String hash) {
    driver.get(page.toUri() + hash);
  }

  Object js(String script, Object... arguments) {
    return driver.executeScript(script, arguments);
  }

  java.util.List<String> console() {
    return driver.manage().logs().get(LogType.BROWSER).getAll().stream().map(e -> e.getLevel() + " " + e.getMessage()).toList();
  }

  void screenshot(Path to) throws IOException {
    Files.createDirectories(to.getParent());
    Files.write(to, driver.getScreenshotAs(OutputType.BYTES));
  }

  @Override
  public void close() {
    driver.quit();
  }
}
