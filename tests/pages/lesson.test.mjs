// The lesson page, used as a trainee would: forward and back, guess and reveal, suppose, by keyboard only.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { browser, opened, serious, wythe } from "./browser.mjs";

const CASES = ["second-pass", "quiet-corner"].map(name => `examples/cases/${name}.yaml`);
const file = join(mkdtempSync(join(tmpdir(), "wythe-")), "lesson.html");
let page;

before(async () => {
  wythe("lesson", ...CASES, "--page", file);
  page = await opened(file);
});
after(async () => (await browser()).close());

const text = id => page.locator("#" + id).innerText();
const rows = body => page.locator(`#${body} tr`).evaluateAll(all => all.map(row => [...row.children].map(cell => cell.textContent)));
const lessons = () => page.evaluate(() => JSON.parse(document.getElementById("lessons").textContent));

test("steps forward and back by button, slider and key", async () => {
  const count = (await lessons())[0].steps.length;
  assert.match(await text("where"), /Before any sighting/);
  await page.click("#forward");
  assert.equal(await text("where"), `Sighting 1 of ${count}`);
  assert.match(await text("says"), /stepped crack in the brick at the front wall/);
  const first = await rows("beliefs");
  await page.keyboard.press("ArrowRight");
  assert.match(await text("where"), /Sighting 2 of/);
  await page.click("#back");
  assert.deepEqual(await rows("beliefs"), first);
  await page.locator("#at").fill("18");
  assert.match(await text("where"), /Sighting 18 of/);
  await page.locator("h1").click();
  await page.keyboard.press("End");
  assert.match(await text("where"), /At the end/);
  assert.ok(await page.locator("#forward").isDisabled());
  await page.click("#back");
  assert.equal(await text("where"), `Sighting ${count} of ${count}`);
  await page.keyboard.press("Home");
  assert.ok(await page.locator("#back").isDisabled());
});

test("the end of the walk is what the program weighs", async () => {
  await page.keyboard.press("End");
  const weighed = JSON.parse(wythe("weigh", CASES[0], "--json"));
  const [lesson] = await lessons();
  const end = lesson.steps.at(-1).state;
  lesson.beliefs.forEach((belief, i) => {
    const one = weighed.conclusions.find(other => other.id === belief.id);
    assert.ok(Math.abs(one.chance - end.chances[i]) < 1e-6, belief.id);
    const support = lesson.supports[end.supports[i]];
    // What the signs lowered has no word of support, in the page as in the program.
    const lowered = one.chance < one.prior && ["slight", "some", "fair", "strong"].includes(one.support);
    const word = one.support === "not_moved" ? "about" : one.support.split("_")[0];
    assert.equal(lowered ? "less" : word, support.split(" ")[0], belief.id);
  });
});

test("what a step moved is said, with its chain and its amount", async () => {
  const [lesson] = await lessons();
  const at = lesson.steps.findIndex(step => step.moved.some(told => told.decibans > 5));
  await page.locator("#at").fill(String(at + 1));
  const told = lesson.steps[at].moved[0];
  const before = at === 0 ? lesson.start : lesson.steps[at - 1].state;
  const odds = p => p / (1 - p);
  const weight = 10 * Math.log10(odds(lesson.steps[at].state.chances[told.belief]) / odds(before.chances[told.belief]));
  assert.ok(Math.abs(weight - told.decibans) < 0.06);
  assert.match(await text("because"), /Source: /);
  const row = (await rows("beliefs"))[told.belief];
  assert.match(row[2], /^▲ up, odds about \d+(\.\d)? times as large \(\d+ decibans\)$/);
  assert.ok((await text("aloud")).includes("Most moved: " + lesson.beliefs[told.belief].title));
});

test("a guess is asked for, held back from the answer, and scored", async () => {
  await page.locator("#at").fill("0");
  await page.locator("#guess-first").check();
  await page.click("#forward");
  assert.ok(await page.locator("#guessing").isVisible());
  assert.ok(await page.locator("#reveal").isHidden());
  assert.ok(await page.locator("#forward").isDisabled());
  await page.locator("#chance").fill("30");
  // The end is given away nowhere: not by the first row, the summary, or what can be supposed.
  assert.ok(await page.locator("#to-end").isHidden() && await page.locator("#end").isHidden() && await page.locator("#suppose").isHidden());
  for (const width of [390, 360]) {
    await page.setViewportSize({ width, height: 800 });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(wide <= 0, `${wide} px too wide at ${width} while guessing`);
  }
  // On a phone a link leads to the drawing, and opens it.
  await page.evaluate(() => { document.getElementById("drawing").open = false; });
  await page.click("#to-drawing");
  assert.ok(await page.evaluate(() => document.getElementById("drawing").open));
  await page.setViewportSize({ width: 1200, height: 900 });
  await page.selectOption("#support", { label: "some support" });
  await page.selectOption("#action", { index: 0 });
  await page.click("#show");
  assert.doesNotMatch(await text("verdict"), /careful/);
  assert.ok(await page.locator("#reveal").isVisible());
  const [lesson] = await lessons();
  const p = lesson.steps[0].state.chances[0];
  // Brier (1950), in expectation over the weighing's chance.
  const brier = p * (1 - 0.3) ** 2 + (1 - p) * 0.3 ** 2;
  const line = await text("score-line");
  assert.ok(line.startsWith(`1 guess. Your chances: Brier score ${brier.toFixed(3)};`), line);
  assert.deepEqual((await rows("bands"))[0].slice(0, 3), ["0.2 to 0.4", "1", "0.30"]);
  await page.locator("#guess-first").uncheck();
});

test("what could not be looked at never reads as found", async () => {
  for (const lesson of await lessons()) {
    for (const step of lesson.steps.filter(step => step.kind === "not reached")) {
      assert.match(step.says, /^Could not be seen: whether .+ shows .+ \(.+\)\.$/);
    }
  }
  const [, lesson] = await lessons();
  await page.selectOption("#cases", { index: 1 });
  const at = lesson.steps.findIndex(step => step.kind === "not reached" && step.says.includes("ask for access"));
  await page.locator("#at").fill(String(at + 1));
  assert.match(await text("says"), /^Could not be seen: whether /);
  assert.match(await text("aloud"), /Could not be seen: whether /);
  // Its mark in the drawing says the same, and so does the card of the mark.
  const mark = page.locator("div.plan:not([hidden]) .mark.now").first();
  assert.match(await mark.getAttribute("aria-label"), /^Could not be seen: whether /);
  assert.ok((await text("pass")).includes("In the drawing: " + lesson.steps[at].mark));
  assert.equal(lesson.steps[at].mark, "B" + (at + 1), "a mark has the number of its sighting");
  await page.selectOption("#cases", { index: 0 });
});

test("the end says what carried each matter, what fell, what would change it and who is asked", async () => {
  await page.locator("#at").fill("3");
  assert.ok(await page.locator("#end").isHidden());
  await page.click("#to-end");
  assert.match(await text("where"), /At the end/);
  assert.ok(await page.locator("#end").isVisible() && await page.locator("#stepping").isHidden());
  const weighed = JSON.parse(wythe("weigh", CASES[0], "--json"));
  const matters = page.locator(".ending:not([hidden]) .matter");
  assert.equal(await matters.count(), weighed.matters.length);
  for (const [i, matter] of weighed.matters.entries()) {
    const told = await matters.nth(i).innerText();
    assert.ok(told.toLowerCase().includes(matter.title.toLowerCase()), matter.title);
    for (const part of [/What carried it\n+(With .+: odds .+ times as large \(\d+ decibans?\), from |Nothing raised)/,
      /What spoke against it\n+(With .+: odds divided by .+ \(\d+ decibans?\), from |Nothing lowered)/,
      /What else could be behind these signs\n/, /Ordinary causes only: .+ if this one were not there; as it stands, /i, /What would change this\n/, /It would be less likely:/,
      /What to do\n/]) assert.match(told, part);
    // As the reasons of the program have it: its steps, its rivals in their order, what would change it.
    const [rule, place] = matter.conclusions[0].split("@");
    const lead = [CASES[0], rule, ...(place ? ["--at", place] : [])];
    const reasons = wythe("reasons", ...lead).replace(/\s+/g, " ");
    const asked = JSON.parse(wythe("reasons", ...lead, "--json"));
    const found = asked.rivals.map(rival => told.replace(/Each is held against [^\n]*/, "").indexOf(rival.title[0].toUpperCase() + rival.title.slice(1) + ": "));
    assert.ok(found.every((one, i) => one > (i ? found[i - 1] : 0)), found.join());
    for (const [, says] of told.matchAll(/\n(With .+?): odds /g)) assert.ok(reasons.includes(says.replace("With", "with")), says);
    for (const says of [...matter.todo]) assert.ok(told.includes(says), says);
  }
  const all = await page.locator(".ending:not([hidden])").innerText();
  assert.match(all, /An engineer is asked to look at the signs consistent with: header sag/);
  assert.match(all, /What the last pass changed/);
  await page.selectOption("#cases", { index: 1 });
  await page.click("#to-end");
  assert.match(await page.locator(".ending:not([hidden])").innerText(), /No engineer is asked for\./);
  await page.selectOption("#cases", { index: 0 });
});

test("a chance beside its word of support never prints a bound that it has not reached", async () => {
  const seen = await page.evaluate(() => JSON.parse(document.getElementById("lessons").textContent));
  const [, fair] = seen[0].bounds;
  const wanted = /some support$/, all = [];
  for (const step of [0, ...seen[0].steps.keys()]) {
    await page.locator("#at").fill(String(step));
    for (const [, chance, , support] of await rows("beliefs")) if (wanted.test(support)) all.push(parseFloat(chance));
  }
  assert.ok(all.length > 20 && all.every(chance => Number.isNaN(chance) || chance < fair), all.join());
});

test("where what is asked for changes, the reason stands beside it", async () => {
  const [lesson] = await lessons();
  const before = i => (i === 0 ? lesson.start : lesson.steps[i - 1].state).actions;
  const at = lesson.steps.findIndex((step, i) => step.state.actions.some((action, b) => action !== before(i)[b]));
  await page.locator("#at").fill(String(at + 1));
  assert.match(await text("asked"), /now asks for: .+ \(before: .+\)\. Why: .{20,}\./);
});

test("taking readings away is weighed anew", async () => {
  const [lesson] = await lessons();
  const at = lesson.suppose.findIndex(one => one.says.includes("header that dips"));
  await page.locator(`#suppose input[value="${at}"]`).uncheck();
  assert.match(await page.locator(`#suppose li:has(input[value="${at}"]) .result`).innerText(), /\d to .*The? .*most that anything asks for/i);
  const now = await rows("supposed");
  assert.match(await text("suppose-most"), /Then the most/);
  assert.notDeepEqual(now.map(row => row[1]), (await rows("beliefs")).map(row => row[1]));
  const [a, b, state] = lesson.pairs.find(([a, b]) => a === at || b === at);
  await page.locator(`#suppose input[value="${a === at ? b : a}"]`).uncheck();
  assert.ok((await rows("supposed"))[0][1].length > 0);
  assert.ok((await text("suppose-most")).includes(lesson.actions[state.most]));
  await page.locator(`#suppose input[value="${a}"]`).check();
  await page.locator(`#suppose input[value="${b}"]`).check();
  assert.match(await text("suppose-most"), /As it stands/);
});

test("a look that nobody made can be supposed", async () => {
  const [lesson] = await lessons();
  const at = lesson.suppose.findIndex(one => !one.taken_in);
  const box = page.locator(`#suppose input[value="${at}"]`);
  assert.ok(!(await box.isChecked()));
  await box.check();
  const state = lesson.suppose[at].state;
  (await rows("supposed")).forEach((row, i) => assert.ok(row[1].includes(lesson.words[state.words[i]]), row[0]));
  await box.uncheck();
});

test("the table and the list of steps say the same amounts", async () => {
  const [lesson] = await lessons();
  const items = await page.locator(".all-steps:not([hidden]) ol > li").evaluateAll(all => all.map(item => item.textContent));
  let compared = 0;
  for (let at = 1; at <= lesson.steps.length; at++) {
    await page.locator("#at").fill(String(at));
    for (const [, , by] of await page.locator("#beliefs tr.moved").evaluateAll(all => all.map(row => [...row.children].map(cell => cell.textContent)))) {
      const [, odds, decibans] = by.match(/^[▲▼] \w+, (.+) \((.+)\)$/);
      assert.ok(items[at - 1].includes(`(${odds}; ${decibans})`), `${at}: ${by} is not in ${items[at - 1]}`);
      compared++;
    }
  }
  assert.ok(compared > 20, compared);
});

test("a group that asks for nothing by itself points to its causes, and who asks for the most is named", async () => {
  const [lesson] = await lessons();
  const end = lesson.steps.at(-1).state;
  await page.locator("#at").fill(String(lesson.steps.length));
  const told = await rows("beliefs");
  const groups = lesson.beliefs.map((belief, i) => ({ belief, i })).filter(({ belief, i }) => end.actions[i] === 0 && belief.causes.some(cause => end.actions[cause] > 0));
  assert.ok(groups.length > 0);
  for (const { i } of groups) assert.equal(told[i][4], "nothing by itself: see its causes");
  const asks = lesson.beliefs.findIndex((belief, i) => end.actions[i] === end.most);
  assert.ok((await text("most")).toLowerCase().includes(", for " + lesson.beliefs[asks].title.toLowerCase()));
});

test("the arrow keys go on after a box is ticked, and a button goes to the next that moved something", async () => {
  const [lesson] = await lessons();
  await page.locator("#at").fill("0");
  await page.locator("#only-moved").uncheck();
  await page.keyboard.press("ArrowRight");
  assert.match(await text("where"), /Sighting 1 of/);
  await page.locator("#only-moved").check();
  const still = lesson.steps.findIndex(step => !step.moved.length);
  const next = lesson.steps.findIndex((step, i) => i > still && step.moved.length);
  await page.locator("#at").fill(String(still + 1));
  await page.click("#next-moved");
  assert.match(await text("where"), new RegExp(`^Sighting ${next + 1} of`));
});

test("a guess starts from where the cause stood", async () => {
  const [lesson] = await lessons();
  await page.locator("#at").fill("3");
  await page.locator("#guess-first").check();
  await page.click("#forward");
  await page.selectOption("#question", { index: 2 });
  assert.equal(await page.locator("#chance").inputValue(), String(Math.round(100 * lesson.steps[2].state.chances[2])));
  assert.match(await text("stood"), /^Before this sighting: /);
  assert.match(await text("first"), /Your guess comes first/);
  await page.locator("#guess-first").uncheck();
});

test("a sighting that a later one replaced stands in the drawing until then", async () => {
  const [lesson] = await lessons();
  const replaced = await page.locator("div.plan:not([hidden]) [data-until]").evaluateAll(all => all.map(node => [node.dataset.sighting, node.dataset.until]));
  assert.ok(replaced.length > 0);
  const turn = id => lesson.steps.findIndex(step => step.sighting === id) + 1;
  const visible = id => page.locator(`div.plan:not([hidden]) [data-sighting="${id}"]`).first().evaluate(node => getComputedStyle(node).visibility === "visible");
  for (const [old, next] of replaced) {
    for (const [at, before, after] of [[turn(old) - 1, false, false], [turn(old), true, false], [turn(next) - 1, true, false], [turn(next), false, true]]) {
      await page.locator("#at").fill(String(at));
      assert.deepEqual([await visible(old), await visible(next)], [before, after], `${old}, ${next} at ${at}`);
    }
    await page.locator("#at").fill(String(turn(old)));
    assert.match(await text("pass"), new RegExp(`In the drawing: [SNB]${turn(old)}\\.`));
  }
});

test("another house can be chosen", async () => {
  await page.selectOption("#cases", { index: 1 });
  assert.match(await text("where"), /Before any sighting/);
  assert.equal(await text("title"), (await lessons())[1].title);
  await page.selectOption("#cases", { index: 0 });
});

test("a session goes on over several houses: one Brier score, one calibration", async () => {
  const fresh = await opened(file);
  await fresh.evaluate(() => localStorage.clear());
  await fresh.reload();
  const all = await fresh.evaluate(() => JSON.parse(document.getElementById("lessons").textContent));
  let sum = 0;
  for (const [house, guess] of [[0, 0.7], [1, 0.1]]) {
    await fresh.selectOption("#cases", { index: house });
    if (house === 0) await fresh.locator("#guess-first").check();
    await fresh.click("#forward");
    await fresh.locator("#chance").fill(String(100 * guess));
    await fresh.selectOption("#support", { index: 1 });
    await fresh.selectOption("#action", { index: 1 });
    await fresh.click("#show");
    const step = all[house].steps[0];
    const p = step.state.chances[0];
    sum += p * (1 - guess) ** 2 + (1 - p) * guess ** 2;
  }
  const line = await fresh.locator("#score-line").innerText();
  assert.ok(line.startsWith(`2 guesses. Your chances: Brier score ${(sum / 2).toFixed(3)};`), line);
  const bands = await fresh.locator("#bands tr").evaluateAll(all => all.map(row => [...row.children].map(cell => cell.textContent)));
  assert.equal(bands.length, 2, "a band of calibration for each guess");
  assert.deepEqual(bands.map(band => band[1]), ["1", "1"]);
  await fresh.close();
});

test("every control has a name for a screen reader, and what changes is read aloud", async () => {
  const bare = await page.evaluate(() => [...document.querySelectorAll("button, input, select, summary, svg[role]")]
    .filter(node => node.getClientRects().length)
    .filter(node => !(node.labels?.length || node.textContent.trim() || node.getAttribute("aria-label")
      || node.getAttribute("aria-labelledby") || node.querySelector?.("title")))
    .map(node => node.outerHTML.slice(0, 80)));
  assert.deepEqual(bare, []);
  assert.ok(["polite", "assertive"].includes(await page.locator("#aloud").getAttribute("aria-live")) || await page.locator("#aloud[role=status]").count() === 1);
  await page.locator("#at").fill("2");
  const before = await text("aloud");
  await page.click("#forward");
  assert.notEqual(await text("aloud"), before);
});

test("in grey nothing is lost: what stands out does so by letters, signs or lines", async () => {
  const [lesson] = await lessons();
  await page.locator("#at").fill(String(lesson.steps.findIndex(step => step.moved.some(told => Math.abs(told.decibans) > 5)) + 1));
  const told = await page.evaluate(() => [...document.querySelectorAll("#beliefs tr.moved")].map(row => row.children[2].textContent));
  assert.ok(told.length > 0 && told.every(words => /^[▲▼] (up|down), /.test(words)), told.join());
  // No two colours that differ in hue alone: the drawing has none, and the page's ink keeps 4.5 to 1 on its paper in grey.
  const hues = await page.locator("div.plan:not([hidden]) svg *").evaluateAll(all => [...new Set(all.flatMap(node =>
    [node.getAttribute("fill"), node.getAttribute("stroke")]).filter(one => one && one.startsWith("#")))]
    .filter(hex => { const [r, g, b] = hex.length === 4 ? [...hex.slice(1)] : hex.slice(1).match(/../g); return !(r === g && g === b); }));
  assert.deepEqual(hues, []);
});

test("it works by keyboard alone", async () => {
  const fresh = await opened(file);
  const focused = () => fresh.evaluate(() => document.activeElement.id || document.activeElement.tagName);
  const reached = [];
  for (let i = 0; i < 12; i++) {
    await fresh.keyboard.press("Tab");
    reached.push(await focused());
  }
  for (const id of ["cases", "forward", "at", "guess-first"]) assert.ok(reached.includes(id), `${id} in ${reached}`);
  await fresh.locator("#forward").focus();
  await fresh.keyboard.press("Enter");
  await fresh.keyboard.press("Space");
  assert.match(await fresh.locator("#where").innerText(), /Sighting 2 of/);
  await fresh.locator("#at").focus();
  await fresh.keyboard.press("ArrowRight");
  assert.match(await fresh.locator("#where").innerText(), /Sighting 3 of/);
  await fresh.close();
});

test("no serious accessibility problem, on a desk and on a phone, guessing or not", async () => {
  for (const width of [1200, 360]) {
    await page.setViewportSize({ width, height: 800 });
    await page.locator("#at").fill("18");
    await page.evaluate(() => { document.getElementById("drawing").open = true; });
    assert.deepEqual(await serious(page), []);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(wide <= 0, `${wide} px too wide at ${width}`);
    const letters = await page.locator("div.plan:not([hidden]) svg text").first().evaluate(text => text.getBoundingClientRect().height);
    assert.ok(letters >= 8, `letters of the drawing ${letters} px high at ${width}`);
  }
  await page.locator("#at").fill(await page.locator("#at").getAttribute("max"));
  assert.ok(await page.locator("#end").isVisible());
  assert.deepEqual(await serious(page), []);
  await page.locator("#at").fill("1");
  await page.locator("#guess-first").check();
  await page.click("#forward");
  assert.deepEqual(await serious(page), []);
  await page.locator("#guess-first").uncheck();
});

test("each mark of the drawing has its words beside it, on a phone too, and none of what is still to come", async () => {
  const [lesson] = await lessons();
  const key = page.locator("div.plan:not([hidden]) .key");
  for (const width of [1200, 360]) {
    await page.setViewportSize({ width, height: 800 });
    await page.evaluate(() => { document.getElementById("drawing").open = true; });
    for (const at of [4, lesson.steps.length]) {
      await page.locator("#at").fill(String(at));
      const drawn = await page.locator("div.plan:not([hidden]) svg .mark:not(.later)[data-sighting]").evaluateAll(all =>
        [...new Set(all.map(node => node.querySelector("text").textContent + " " + node.getAttribute("aria-label")))].sort());
      const told = await key.locator("li[data-sighting]:not(.later)").evaluateAll(all => all.map(node => node.textContent).sort());
      assert.deepEqual(told, drawn);
      const seen = key.locator("section li:not(.later)").first();
      const box = await seen.boundingBox();
      assert.ok(box.width > 100 && box.x + box.width <= width, "the words fit a width of " + width);
      assert.ok(await key.locator("li.later").first().isHidden().catch(() => true));
    }
  }
  await page.setViewportSize({ width: 1200, height: 800 });
});

test("a phone shows what comes second at the end shut, a desk and print show it", async () => {
  const phone = await opened(file);
  await phone.setViewportSize({ width: 360, height: 800 });
  await phone.reload();
  await phone.click("#to-end");
  const rivals = phone.locator(".ending:not([hidden]) details.fold", { hasText: "What else could be behind" }).first();
  const inner = rivals.locator("ul").first();
  assert.ok(await rivals.locator("summary").isVisible() && !(await inner.isVisible()));
  await rivals.locator("summary").click();
  assert.ok(await inner.isVisible(), "it opens");
  await phone.close();
  assert.ok(await page.locator(".ending:not([hidden]) details.fold").evaluateAll(all => all.every(one => one.open)));
});

test("print and a reader without scripts get every step", async () => {
  const [lesson] = await lessons();
  const html = readFileSync(file, "utf8");
  const list = html.slice(html.indexOf('<details class="all-steps"'), html.indexOf("</main>"));
  for (const step of lesson.steps) assert.ok(list.includes(step.sighting), step.sighting);
  await page.emulateMedia({ media: "print" });
  const step = page.locator(".all-steps:not([hidden]) ol > li").first();
  assert.ok((await step.boundingBox())?.height > 0, "the list is printed open");
  assert.ok(await page.locator("#back").isHidden());
  await page.emulateMedia({ media: "screen" });
  assert.match(html, /What carried it<\/h4>.*What spoke against it<\/h4>.*What would change this<\/h4>/);
  await page.emulateMedia({ media: "print" });
  assert.ok(await page.locator(".ending:not([hidden])").isVisible(), "the end is printed");
  await page.emulateMedia({ media: "screen" });
});

test("nothing leaves the page and nothing is complained of", () => {
  assert.deepEqual(page.complaints, []);
  assert.deepEqual(page.requests.filter(url => !url.startsWith("file:")), []);
});
