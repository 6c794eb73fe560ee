// The turning head of a plan: styles, a site's reasons, moving it, what if.
// The head is drawn by the browser's own software, as no graphics card is at hand.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, fillClient, importSalon, openPage, openSalon, start, waitForPlan } from "./support.mjs";

let browser, salon, page, complaints, close, plan;

before(async () => {
  ({ browser, salon, page, complaints, close } = await openSalon(["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist"]));
  await importSalon(page, salon.address);
  await page.goto(`${salon.address}/clients/new`);
  await fillClient(page);
  await page.selectOption(`[name="colour.shade"]`, { index: 3 });
  await page.click("button[value=plan]");
  await waitForPlan(page);
  plan = page.url().replace(/#.*/, "");
  await page.waitForSelector(".turning:not([hidden])");
});

after(() => close?.());

const card = () => page.textContent("[data-card]");
/** Opens the plan's page with the head turned up. */
async function turnUp() {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  await page.click(".pictures button:has-text('Turning head')");
  await page.waitForSelector(".looks button");
}
/** A plan's own document. */
const document_of = async (address) => (await page.request.get(`${address.replace(/#.*/, "")}/papers/plan.json`)).json();
/** Chooses the first site of the list, which turns the head to it. */
async function choose(nth = 0) {
  const line = page.locator(".rows details summary").nth(nth);
  const name = (await line.locator("strong").textContent()).trim();
  await line.click();
  await page.waitForFunction((n) => document.querySelector("[data-card] h2")?.textContent.startsWith(n), name);
  return name;
}

test("the first screen says first what matters", async () => {
  const wide = await openPage(browser, salon.address, { viewport: { width: 1024, height: 768 } });
  await wide.page.goto(plan);
  await wide.page.waitForSelector(".turning:not([hidden])");
  const order = await wide.page.evaluate(() => {
    const top = (selector) => document.querySelector(selector)?.getBoundingClientRect().top ?? Infinity;
    return [".plan-head", ".verdict h1", ".head-map svg[data-panel=back]", ".contents", "#rows", "#quantity", "#papers"].map(top);
  });
  assert.deepEqual(order, [...order].sort((a, b) => a - b));
  assert.ok(order.every((y) => Number.isFinite(y)));
  // Verdict, map and the three numbers stand on the first screen, whole.
  for (const part of [".verdict h1", ".head-map svg[data-panel=left]", ".head-map svg[data-panel=back]", ".head-map svg[data-panel=right]", ".three"]) {
    const box = await wide.page.locator(part).first().boundingBox();
    assert.ok(box.y >= 0 && box.y + box.height <= 768, `${part}: ${box.y} to ${box.y + box.height}`);
  }
  assert.equal(await wide.page.locator(".three > div").count(), 3);
  const made = await document_of(plan);
  const text = await wide.page.textContent(".three");
  for (const number of [`${Math.round(made.quantity.added_g)}`, `wish ${Math.round(made.quantity.wished_g)} g`, `${made.quantity.sandwiches} sandwiches`]) assert.ok(text.includes(number), number);
  assert.equal(await wide.page.locator(".head-map [data-site]").count(), made.sites.length);
  assert.deepEqual(await axe(wide.page), []);
  await wide.context.close();
});

test("the card hides none of its own buttons on a tablet of 1024 by 768", async () => {
  const wide = await openPage(browser, salon.address, { viewport: { width: 1024, height: 768 } });
  await wide.page.goto(plan);
  await wide.page.waitForSelector(".turning:not([hidden])");
  for (const site of [0, 3]) {
    await wide.page.locator(".head-map [data-site] rect").nth(site).click();
    await wide.page.waitForSelector(".answer:not([hidden]) .moves");
    const hidden = await wide.page.evaluate(() => {
      const frame = document.querySelector(".answer");
      const cut = (element) => {
        for (let up = element.parentElement; up && up !== document.body; up = up.parentElement) {
          const style = getComputedStyle(up);
          if (/(auto|scroll|hidden)/.test(style.overflowY + style.overflowX) && up.scrollHeight > up.clientHeight + 1) return true;
        }
        return false;
      };
      return [...frame.querySelectorAll("button")].filter((button) => button.getClientRects().length > 0 && (cut(button) || button.getBoundingClientRect().height < 40)).map((button) => button.textContent);
    });
    assert.deepEqual(hidden, []);
    // Map and the buttons that move a sandwich are seen together.
    await wide.page.locator(".answer").scrollIntoViewIfNeeded();
    const ends = await wide.page.evaluate(() => {
      const frame = document.querySelector(".answer");
      frame.scrollIntoView({ block: "start" });
      window.scrollBy(0, -64);
      const last = [...frame.querySelectorAll(".moves button")].at(-1).getBoundingClientRect();
      return { bottom: last.bottom, map: document.querySelector(".head-map").getBoundingClientRect().top };
    });
    assert.ok(ends.bottom <= 768 && ends.map >= 0, JSON.stringify(ends));
  }
  await wide.context.close();
});

/** Taps a place of a panel of the map, mm across and upward. */
async function tapMap(panel, x, y) {
  const at = await page.evaluate(([name, mm]) => {
    const svg = document.querySelector(`.head-map svg[data-panel=${name}]`);
    svg.scrollIntoView({ block: "center" });
    const spot = new DOMPoint(mm[0], -mm[1]).matrixTransform(svg.getScreenCTM());
    return [spot.x, spot.y];
  }, [panel, [x, y]]);
  const [answer] = await Promise.all([page.waitForResponse(/\/why-not$/), page.mouse.click(...at)]);
  await page.waitForFunction(() => !document.querySelector("[data-card]")?.textContent.includes("Looking"));
  return answer;
}

test("a tap on an empty place of the map says why nothing stands there", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  await tapMap("back", 0, 8);
  assert.match(await card(), /too near the nape hairline/);
  await tapMap("right", 58, 40);
  assert.match(await card(), /This place.*(near|reaches|no sandwich)/is);
  await tapMap("back", 14, 186);
  assert.match(await card(), /crown|horseshoe|No parting/);
  assert.deepEqual(await axe(page), []);
});

test("an open place is offered, and what is put there makes a plan that says so", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const before = await document_of(plan);
  // A place that was taken out is open.
  const site = before.sites.find((one) => one.section === "back" && one.piece.cut === "full");
  await page.locator(`.head-map [data-site="${site.site}"] rect`).first().click();
  await page.click("[data-card] >> text=Take out");
  const [[x0, y0], [x1, y1]] = site.map_mm;
  await tapMap("back", (x0 + x1) / 2, (y0 + y1) / 2 - 2);
  assert.match(await card(), /may be set here/);
  await page.click("text=Put one here");
  await page.waitForSelector("[data-card] >> text=put in");
  assert.match(await page.textContent("[data-changes]"), /1 put in, 1 taken out|1 taken out/);
  await page.click("[data-changes] >> text=Undo");
  await page.click("[data-changes] >> text=Undo");
  assert.equal(await page.locator("[data-changes] button").count(), 0);
});

test("a plan with a sandwich taken out states what is short of the wish", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const before = await document_of(plan);
  await page.locator(".head-map [data-site] rect").first().click();
  await page.click("[data-card] >> text=Take out");
  await page.click("text=Keep as a new plan");
  await page.waitForFunction((old) => !location.href.startsWith(old), plan);
  const after = await document_of(page.url());
  assert.equal(after.sites.length, before.sites.length - 1);
  assert.equal(after.quantity.wished_g, before.quantity.wished_g, "the wish stays what it was");
  const short = after.faults.find((fault) => fault.rule === "worth-short");
  assert.match(short.what, new RegExp(`${Math.round(after.quantity.added_g)} g of the ${Math.round(after.quantity.wished_g)} g wished`));
  assert.match(await page.textContent(".verdict h1"), new RegExp(`${Math.round(after.quantity.added_g)} g of the ${Math.round(after.quantity.wished_g)} g`));
  await page.click("text=Back to the plan before");
  await page.waitForURL(plan);
});

test("every style that she wears is a button, and shows how well bonds are hidden", async () => {
  await turnUp();
  const names = await page.locator(".looks button").allTextContents();
  assert.deepEqual(names, ["Places only", "Down", "Low ponytail"]);
  const [answer] = await Promise.all([page.waitForResponse(/\/head\/low_ponytail$/), page.click(".looks button:has-text('Low ponytail')")]);
  const { heat, courses } = await answer.json();
  assert.ok(heat.some((share) => share < 60) && heat.some((share) => share > 250), "both bare and hidden places");
  assert.ok(courses.length > 20);
  assert.ok(await page.isVisible("[data-legend]"));
  assert.deepEqual(await axe(page), []);
});

test("a site says how well it is hidden, what it carries and why it is there", async () => {
  const name = await choose();
  const text = await card();
  assert.match(text, new RegExp(name));
  for (const word of ["Hidden at its worst point", "Down", "Low ponytail", "Each hair carries", "Why is it here?"]) assert.ok(text.includes(word), word);
});

test("a site moved by the keys is judged at once, and can be put back", async () => {
  await choose();
  const before = await page.textContent("[data-card] .where");
  const along = page.locator('[aria-label="Move 2 mm towards the client’s right"]');
  for (let i = 0; i < 6; i++) await Promise.all([page.waitForResponse(/\/judge$/), along.click()]);
  await page.waitForSelector("[data-card] .notice");
  assert.notEqual(await page.textContent("[data-card] .where"), before);
  assert.match(await page.textContent("[data-changes]"), /1 moved/);
  await page.click("[data-card] >> text=Put back");
  assert.equal(await page.textContent("[data-card] .where"), before);
});

test("a site dragged over the head follows the finger", async () => {
  await page.click(".views button:has-text('Back')");
  await page.waitForTimeout(700);
  const canvas = page.locator(".stage canvas");
  await canvas.scrollIntoViewIfNeeded();
  const box = await canvas.boundingBox();
  let found;
  for (let y = 0.4; y < 0.8 && !found; y += 0.02) {
    for (let x = 0.52; x < 0.72 && !found; x += 0.02) {
      const at = [box.x + x * box.width, box.y + y * box.height];
      await page.mouse.move(...at);
      if (await canvas.evaluate((element) => element.classList.contains("over-site"))) found = at;
    }
  }
  assert.ok(found, "a sandwich is in sight");
  await page.mouse.click(...found);
  const before = await page.textContent("[data-card] .where");
  await page.mouse.down();
  for (let i = 1; i <= 6; i++) await page.mouse.move(found[0] + 5 * i, found[1]);
  const judged = page.waitForResponse(/\/judge$/);
  await page.mouse.move(found[0] + 40, found[1]);
  await judged;
  await page.mouse.up();
  await page.waitForFunction((was) => document.querySelector("[data-card] .where")?.textContent !== was, before);
  await page.click("[data-changes] >> text=Undo");
  assert.equal(await page.textContent("[data-card] .where"), before);
});

test("a limit is passed only with a reason, which the plan keeps", async () => {
  const name = await choose();
  const up = page.locator('[aria-label="Move 2 mm down"]');
  for (let i = 0; i < 8; i++) await Promise.all([page.waitForResponse(/\/judge$/), up.click()]);
  await page.waitForSelector("[data-card] .notice.stop");
  await page.click("text=Keep as a new plan");
  await page.waitForSelector("[data-changes] [role=alert]");
  assert.equal(page.url().replace(/#.*/, ""), plan, "nothing was kept");
  await page.fill("#moves-reason", "A scar just above, seen and talked over");
  await page.click("text=Keep as a new plan");
  await page.waitForFunction((old) => !location.href.startsWith(old), plan);
  const kept = await (await page.request.get(`${page.url().replace(/#.*/, "")}/papers/plan.json`)).json();
  assert.equal(kept.set_by_hand.reason, "A scar just above, seen and talked over");
  assert.ok(kept.set_by_hand.sites.length > 3);
  assert.ok(name);
});

test("hair down and not enough: more is planned around what is in, or no room is said", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const before = await document_of(plan);
  await page.click("text=Hair is down: not enough?");
  await page.fill("#more-grams", "much");
  await page.click("[data-card] >> text=Plan it");
  assert.match(await page.textContent("[data-changes] [role=alert]"), /is no amount of hair/);
  assert.equal(await page.inputValue("#more-grams"), "much");
  await page.fill("#more-grams", "10");
  await page.click("[data-card] >> text=Plan it");
  await page.waitForFunction((old) => !location.href.startsWith(old), plan);
  const after = await document_of(page.url());
  const place = (site) => `${site.above_nape_mm} ${site.along_mm}`;
  const now = new Set(after.sites.map(place));
  for (const site of before.sites) assert.ok(now.has(place(site)), `${site.site} stays where it is`);
  assert.ok(after.sites.length > before.sites.length);
  // As much again as nobody wears: what fits is kept, and the rest is said.
  await page.waitForSelector(".turning:not([hidden])");
  let last = page.url();
  for (let round = 0; round < 3; round += 1) {
    await page.click("text=Hair is down: not enough?");
    await page.fill("#more-grams", "400");
    await page.click("[data-card] >> text=Plan it");
    await page.waitForFunction((old) => location.href !== old || document.querySelector("[data-changes] [role=alert]"), last);
    if (page.url() === last) break;
    const full = await document_of(page.url());
    assert.ok(full.sites.length > (await document_of(last)).sites.length, "never the same plan again");
    assert.ok(full.faults.some((fault) => /There is (no )?room for/.test(fault.what)), JSON.stringify(full.faults));
    last = page.url();
    await page.waitForSelector(".turning:not([hidden])");
  }
  assert.match(await page.textContent("[data-changes] [role=alert]"), /no room for another sandwich/);
});

test("another layout can be looked at and taken, and keeps every limit", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const scene = await (await page.request.get(`${plan}/head`)).json();
  await page.click("text=Hair is down: not enough?");
  const look = page.locator("text=/Look at another layout/");
  assert.equal(await look.count(), scene.others.length);
  if (scene.others.length === 0) return;
  await look.first().click();
  assert.match(await card(), /points more/);
  await page.click("[data-card] >> text=Back to the plan");
  await page.click("text=Hair is down: not enough?");
  await look.first().click();
  await page.click("text=Take this layout");
  await page.waitForFunction((old) => !location.href.startsWith(old), plan);
  await page.waitForSelector(".turning:not([hidden])");
  const taken = await (await page.request.get(`${page.url().replace(/#.*/, "")}/papers/plan.json`)).json();
  assert.equal(taken.sites.length, scene.others[0].sites.length);
  assert.equal(taken.set_by_hand.reason, undefined, "no limit is passed");
});

test("what if compares the whole plan and keeps nothing by itself", async () => {
  await page.goto(plan);
  await page.waitForSelector(".what-if:not([hidden])");
  const clients = await page.locator(".back").getAttribute("href");
  await page.locator("#what-density").evaluate((input) => {
    input.value = "120";
    input.dispatchEvent(new Event("input", { bubbles: true }));
  });
  await page.waitForSelector("[data-answer] table tr.differs");
  await page.fill("#what-mass", "heavy");
  await page.waitForFunction(() => /not a number/.test(document.querySelector("[data-answer]").textContent));
  await page.fill("#what-mass", "40");
  await page.waitForFunction(() => /outside/.test(document.querySelector("[data-answer]").textContent));
  assert.deepEqual(await axe(page), []);
  await page.click("text=As planned again");
  assert.equal((await page.textContent("[data-answer]")).trim(), "");
  const facts = await (await page.request.get(`${salon.address}${clients}/client.toml`)).text();
  assert.match(facts, /density_per_cm2 = 180/);
});

test("what if is written into her facts when asked", async () => {
  await page.locator("#what-density").evaluate((input) => {
    input.value = "200";
    input.dispatchEvent(new Event("input", { bubbles: true }));
  });
  await page.waitForSelector("[data-answer] table");
  const clients = await page.locator(".back").getAttribute("href");
  await page.click("[data-keep]");
  await page.waitForFunction((old) => !location.href.startsWith(old), plan);
  await page.waitForSelector(".turning:not([hidden])");
  const facts = await (await page.request.get(`${salon.address}${clients}/client.toml`)).text();
  assert.match(facts, /density_per_cm2 = 200/);
});

test("what showed at the chair is noted, and plans follow it only when asked", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const name = await choose();
  await page.click("text=Seen at the chair?");
  for (const style of ["Down", "Low ponytail"]) {
    await Promise.all([page.waitForResponse(/\/seen$/), page.click(`[aria-label="${name}, ${style}: it showed"]`)]);
  }
  await page.waitForFunction(() => /2 looks in all/.test(document.querySelector("[data-card]").textContent));
  await page.goto(`${salon.address}/settings`);
  assert.match(await page.textContent("#cover"), /2 bonds were looked at; 2 of them showed/);
  assert.match(await page.textContent("#cover"), /These are few/);
  assert.deepEqual(await axe(page), []);
  await page.click("text=Plan with what this salon saw");
  assert.match(await page.textContent("#cover"), /Plans follow what this salon saw/);
  const post = (to, data) => page.request.post(`${plan}${to}`, { data, headers: { origin: salon.address } });
  const at = { above_nape_mm: 60, along_mm: 0 };
  assert.equal((await post("/seen", { site: "Z9.9", at, style: "down", showed: true })).status(), 404);
  assert.equal((await post("/seen", { site: name, at, style: "on_fire", showed: true })).status(), 404);
  await page.click("text=Plan with the trade’s own again");
});

test("a plan that stops short looks for ways on, and one is taken without touching her facts", async () => {
  await page.goto(`${salon.address}/clients/new`);
  await fillClient(page, { "client.name": "Short Probe", "hair.density_per_cm2": "140", "consultation.wanted_length_mm": "550" });
  for (const [name, value] of [
    ["hair.strand", "fine"], ["hair.processed", "bleached"], ["consultation.goal", "both"], ["consultation.fullness", "full"],
    ["consultation.styles", "half_up"], ["consultation.styles", "high_ponytail"],
  ]) await page.check(`input[name="${name}"][value="${value}"]`);
  await page.selectOption(`[name="colour.shade"]`, { index: 3 });
  await page.click("button[value=plan]");
  await waitForPlan(page);
  const short = page.url().replace(/#.*/, "");
  const before = await document_of(short);
  assert.ok(before.quantity.added_g < before.quantity.wished_g - 1, "a plan that falls short");
  assert.match(await page.textContent(".verdict h1"), new RegExp(`${Math.round(before.quantity.added_g)} g of the ${Math.round(before.quantity.wished_g)} g she wished`));
  await page.waitForSelector(".ways-on table", { timeout: 20_000 });
  const rows = page.locator(".ways-on tbody tr");
  assert.ok((await rows.count()) > 1);
  assert.match(await rows.last().textContent(), /This plan[\s\S]*as drawn/);
  assert.deepEqual(await axe(page), []);
  // The same without a script, on a page of its own.
  const plain = await (await page.request.get(`${short}/ways`)).text();
  assert.match(plain, /<h1>Ways on<\/h1>[\s\S]*This plan/);
  const clients = await page.locator(".back").getAttribute("href");
  const facts = async () => (await page.request.get(`${salon.address}${clients}/client.toml`)).text();
  const asWritten = await facts();
  const says = (await rows.first().locator("th").textContent()).trim();
  await rows.first().locator("button").click();
  await page.waitForFunction((old) => !location.href.startsWith(old), short);
  await page.waitForSelector(".notice.from");
  assert.match(await page.textContent(".notice.from"), /With a way on taken: /);
  assert.ok(says.length > 4);
  const after = await document_of(page.url());
  const gap = (made) => Math.max(made.quantity.wished_g - made.quantity.added_g, 0);
  assert.ok(gap(after) < gap(before), `${gap(after)} against ${gap(before)}`);
  assert.equal(await facts(), asWritten, "her facts stay as they were");
  await page.click("text=Back to the plan before");
  await page.waitForURL(short);
});

test("nonsense from outside is refused and breaks nothing", async () => {
  const post = (to, data) => page.request.post(`${plan}${to}`, { data, headers: { origin: salon.address } });
  assert.equal((await post("/judge", { at: { above_nape_mm: 1e9, along_mm: 0 }, others: [] })).status(), 422);
  assert.equal((await post("/judge", { point: [1e308, 0, 0], at: { above_nape_mm: 50, along_mm: 0 }, others: [] })).status(), 422);
  assert.ok((await post("/judge", { nothing: true })).status() >= 400);
  assert.equal((await post("/moves", { sites: [], add_g: -5 })).status(), 422);
  assert.equal((await post("/what-if", { styles: ["on fire"] })).status(), 422);
  assert.equal((await post("/why-not", { point: [1e308, 0, 0], others: [] })).status(), 422);
  assert.equal((await post("/why-not", { on_panel: { panel: "back", at: [0, -300] }, others: [] })).status(), 422);
  assert.ok((await post("/why-not", { on_panel: { panel: "front", at: [0, 0] }, others: [] })).status() >= 400);
  const odd = await page.request.post(`${plan}/ways`, { form: { levers: "on_fire" }, headers: { origin: salon.address } });
  assert.equal(odd.url().replace(/#.*/, ""), plan, "an unknown way leads back to the plan");
  assert.equal((await page.request.get(`${plan}/head/on_fire`)).status(), 404);
});

test("nothing was complained of", () => {
  assert.deepEqual(complaints, []);
});
