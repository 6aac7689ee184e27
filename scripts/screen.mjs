// The screen in a browser: works a job by touch and keyboard, looks at every situation in three sizes, asks axe-core whether
// all of it can be used by everybody (WCAG 2.2 AA), and leaves the pictures in target/screen. Called by `make test-screen`.
import { spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";

const require = createRequire(import.meta.url);
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const SIZES = [["desk", 1366, 768, "light"], ["dark", 1920, 1080, "dark"], ["phone", 390, 844, "light"]];
const folder = "target/screen";
const problems = [];
const check = (fine, what) => { if (!fine) problems.push(what); };

mkdirSync(folder, { recursive: true });
const record = mkdtempSync(join(tmpdir(), "leadhand-screen-"));
const program = spawn("target/debug/leadhand", ["type", "dryer-240", "--screen", "--store", join(record, "jobs.sqlite")],
  { stdio: ["pipe", "pipe", "inherit"] });
const address = await new Promise((found) => {
  createInterface({ input: program.stdout }).on("line", (line) => {
    if (line.startsWith("screen: ")) found(line.slice("screen: ".length));
  });
});

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
const pages = [];
for (const [name, width, height, colorScheme] of SIZES) {
  // axe-core is put in by hand, which the page's own policy forbids.
  const context = await browser.newContext({ viewport: { width, height }, colorScheme, bypassCSP: true });
  const page = await context.newPage();
  page.on("pageerror", (error) => problems.push(`${name}: ${error.message}`));
  page.on("console", (message) => { if (message.type() === "error") problems.push(`${name}: ${message.text()}`); });
  await page.goto(address);
  pages.push([name, page]);
}
const hand = pages[0][1];
const turn = (page) => page.locator("[name=turn]").first().inputValue();

// Does something on the first page, and waits until every page shows what came of it; how long that took, in ms.
const act = async (what) => {
  const before = await turn(hand);
  const started = performance.now();
  await what();
  for (const [, page] of pages) {
    await page.waitForFunction((old) => document.querySelector("[name=turn]").value !== old, before, { timeout: 20000, polling: 5 });
  }
  return performance.now() - started;
};
const touch = (words) => act(() => hand.getByRole("button", { name: words, exact: true }).first().click());
const type = (words) => act(async () => { await hand.keyboard.type(words); await hand.keyboard.press("Enter"); });

// The browser keeps its own keys: nothing is sent, and nothing keeps the browser from doing what it does.
const browserKeys = async (keys) => {
  await hand.evaluate(() => {
    window.kept = [];
    addEventListener("keydown", (event) => { if (event.defaultPrevented) window.kept.push(event.key); event.preventDefault(); });
  });
  const before = await turn(hand);
  for (const key of keys) await hand.keyboard.press(key);
  check((await hand.evaluate(() => window.kept)).length === 0, `taken from the browser: ${await hand.evaluate(() => window.kept)}`);
  check(await turn(hand) === before, "a key of the browser's answered");
  await hand.reload();
};

const look = async (situation) => {
  for (const [name, page] of pages) {
    await page.screenshot({ path: `${folder}/${situation}-${name}.png` });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    check(wide <= 0, `${situation}, ${name}: ${wide} pixels too wide`);
    await page.evaluate(axe);
    const found = await page.evaluate((rules) => axe.run(document, { runOnly: rules }), RULES);
    for (const violation of found.violations) {
      problems.push(`${situation}, ${name}: ${violation.id}: ${violation.nodes.map((node) => node.target.join(" ")).join(", ")}`);
    }
  }
};

await look("1-complaint");
await browserKeys(["F1", "F3", "F5", "F6", "F7", "F10", "F11", "F12", "Shift+F5", "Shift+F10", "Control+F5", "Control+F7", "Control+r", "Control+f",
  "Control+l", "Alt+ArrowLeft", "PageDown", "Tab"]);
const times = [await touch("runs but no heat")];
await look("1-interview");
times.push(await touch("not sure"), await act(() => hand.keyboard.press("Alt+Shift+F8")));
await look("2-meter");
times.push(await touch("yes"), await touch("done"), await touch("yes"));
await look("3-hazard");
// The answer to a hazard is never one touch: it is put together, then sent.
await hand.getByRole("button", { name: "live", exact: true }).click();
await hand.getByRole("button", { name: "and clear", exact: true }).click();
times.push(await touch("Send"));
check((await hand.locator("#now").innerText()).includes("What do you read?"), "the hazard was not answered");
times.push(await type("120 volts"));
await look("4-proving-dead");
for (let pair = 0; pair < 6; pair += 1) times.push(await type("0 volts"));
times.push(await type("120 volts"));
await look("5-proved-dead");
// Answers as somebody does whose dryer has lost a leg of its supply.
const respond = async () => {
  const asked = await hand.locator("#now .last").innerText();
  const whole = hand.locator("#choices button[type=submit]:not(.stop):not(.enter)");
  if (/word live/.test(asked)) {
    for (const piece of await hand.locator("#choices .piece").allInnerTexts()) await hand.getByRole("button", { name: piece, exact: true }).click();
    await touch("Send");
  } else if (/volts/i.test(asked) || /Still on|outlet/.test(asked)) await type(/outlet/.test(asked) ? "120 volts" : "0 volts");
  else if (/leads together/.test(asked)) await type("0.1 ohms");
  else if (/ohms/i.test(asked)) await type(/chassis/.test(asked) ? "over limit" : /element/.test(asked) ? "10.7 ohms" : "0.1 ohms");
  else if (/warm/i.test(asked)) await type("150 degrees");
  else if (await whole.count()) times.push(await act(() => whole.first().click()));
  else await type("skip");
};
const until = async (what, selector) => {
  for (let step = 0; step < 80 && !(await hand.locator(selector).count()); step += 1) await respond();
  check(await hand.locator(selector).count(), `${what} was not reached`);
};
await until("a reading", "#reading .found");
await look("6-reading");
// Loaded again, the page is where it was.
await hand.reload();
check((await hand.locator("#reading").innerText()).includes("10.7"), "the reading is gone after a reload");
await until("a live check", "#now[data-hazard=true], #now .before.hazard");
await look("7-live-hazard");
await until("the supply on", "[data-supply=live]");
await look("8-live");
await until("advice", "#now .advice");
await look("9-advice");
// Escape stops, wherever the focus is.
await act(() => hand.keyboard.press("Escape"));
await look("10-stopped");
check((await hand.locator("#head").innerText()).includes("Treat as live"), "Escape did not stop");
// The program ends: what is seen may be old, and the page says so.
program.kill("SIGKILL");
for (const [, page] of pages) await page.waitForFunction(() => document.getElementById("link").textContent !== "", undefined, { timeout: 20000 });
await Promise.all(pages.map(([name, page]) => page.screenshot({ path: `${folder}/11-gone-${name}.png` })));
await browser.close();
rmSync(record, { recursive: true });

times.sort((a, b) => a - b);
console.log(`an answer by touch to all ${pages.length} pages showing what came of it: median ${times[times.length >> 1].toFixed(0)} ms, most ${times.at(-1).toFixed(0)} ms (${times.length} answers)`);
console.log(`pictures: ${folder}`);
// The browser complains of the program that was ended on purpose.
const real = problems.filter((problem) => !/ERR_CONNECTION_REFUSED|ERR_INCOMPLETE_CHUNKED|ERR_CONNECTION_RESET|ERR_EMPTY_RESPONSE/.test(problem));
for (const problem of real) console.log(`PROBLEM ${problem}`);
process.exit(real.length ? 1 : 0);
