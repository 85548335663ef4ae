// One headless browser for all tests of the pages, and what they share.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const root = join(dirname(fileURLToPath(import.meta.url)), "../..");
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const target = process.env.CARGO_TARGET_DIR || join(root, "target");

/** What the program prints; it was built before, in release. */
export const wythe = (...args) => execFileSync(join(target, "release", "wythe"), args, { cwd: root, encoding: "utf8" });

let started;
/** The browser. Without the network and without looking for one. */
export const browser = () => (started ||= chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
}));

/** A page of its own, with what it complained of and asked for. */
export const opened = async file => {
  const page = await (await browser()).newPage({ viewport: { width: 1200, height: 900 } });
  page.complaints = [];
  page.requests = [];
  page.on("console", message => { if (["error", "warning"].includes(message.type())) page.complaints.push(message.text()); });
  page.on("pageerror", error => page.complaints.push(error.message));
  page.on("request", request => page.requests.push(request.url()));
  await page.goto("file://" + file);
  return page;
};

/** The serious and critical problems that axe finds, by rule and place. */
export const serious = async page => {
  await page.evaluate(AXE);
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  return found.violations
    .filter(one => ["serious", "critical"].includes(one.impact))
    .map(one => one.id + " " + one.nodes.map(node => node.target.join(" ")).slice(0, 3).join(", "));
};
