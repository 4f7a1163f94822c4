// Opens reports in headless Chromium as a file, takes pictures at three widths, prints them, and has axe look for what
// keeps somebody from reading them.
//
//   node look.mjs FOLDER REPORT.html ...
//
// Pictures and PDF go to FOLDER. Closes with `N passed, N failed`.
// Source of the accessibility rules: WCAG 2, as axe-core checks them. Widths: a phone, a tablet, a desk; common, no source.

import { createRequire } from "node:module";
import { basename, join, resolve } from "node:path";
import { stat } from "node:fs/promises";
import { pathToFileURL } from "node:url";

// Installed beside this file's copy of its package list, not beside this file.
const require = createRequire(join(resolve(process.env.NODE_MODULES_OF ?? "."), "package.json"));
const puppeteer = require("puppeteer-core");
const axe = require.resolve("axe-core/axe.min.js");

const WIDTHS = [360, 768, 1280];
const [folder, ...reports] = process.argv.slice(2);
let passed = 0;
let failed = 0;

function holds(right, what) {
  if (right) {
    passed += 1;
  } else {
    failed += 1;
    console.log(`FAILED: ${what}`);
  }
}

const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
});
for (const report of reports) {
  const name = basename(report, ".html");
  const page = await browser.newPage();
  const said = [];
  const asked = [];
  page.on("console", (message) => said.push(message.text()));
  page.on("pageerror", (error) => said.push(String(error)));
  page.on("request", (request) => asked.push(request.url()));
  page.on("dialog", (dialog) => {
    said.push(`a dialog: ${dialog.message()}`);
    dialog.dismiss();
  });
  await page.goto(pathToFileURL(resolve(report)).href);
  for (const width of WIDTHS) {
    await page.setViewport({ width, height: 900 });
    await page.screenshot({ path: join(folder, `${name}-${width}.png`), fullPage: true });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    holds(wide <= 0, `${name}: at ${width} the page is ${wide} pixels wider than the screen`);
  }
  await page.pdf({ path: join(folder, `${name}.pdf`), format: "A4", margin: { top: "15mm", bottom: "15mm", left: "15mm", right: "15mm" } });
  const printed = (await stat(join(folder, `${name}.pdf`))).size;
  holds(printed > 10_000, `${name}: the printed page has ${printed} bytes`);
  holds(said.length === 0, `${name}: the console says ${said.join("; ")}`);
  holds(asked.length === 1 && asked[0].startsWith("file:"), `${name}: it fetches ${asked.join(", ")}`);
  const charts = await page.$$eval("svg", (all) =>
    all.map((svg) => [svg.getAttribute("role"), svg.querySelector("title")?.textContent, svg.querySelector("desc")?.textContent]),
  );
  holds(charts.length > 0 && charts.every(([role, title, desc]) => role === "img" && title && desc), `${name}: charts ${JSON.stringify(charts)}`);
  // The page forbids every script, also this one: a second look at it without that rule.
  await page.setBypassCSP(true);
  await page.reload();
  await page.addScriptTag({ path: axe });
  const { violations, passes } = await page.evaluate(() => globalThis.axe.run());
  holds(passes.length > 5, `${name}: axe passed ${passes.length} rules only`);
  holds(violations.length === 0, `${name}: axe finds ${violations.map((one) => `${one.id} (${one.nodes.map((node) => node.html).slice(0, 3).join(" ")})`).join("; ")}`);
  await page.close();
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
