// The turning head of a plan: styles, a site's reasons, moving it, what if.
// The head is drawn by the browser's own software, as no graphics card is at hand.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, fillClient, importSalon, newFolder, openBrowser, openPage, removeFolder, start, waitForPlan } from "./support.mjs";

let browser, folder, salon, page, complaints, context, plan;

before(async () => {
  browser = await openBrowser(["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist"]);
  folder = await newFolder();
  salon = await start("serve", "--data", folder);
  ({ page, complaints, context } = await openPage(browser, salon.address));
  await importSalon(page, salon.address);
  await page.goto(`${salon.address}/clients/new`);
  await fillClient(page);
  await page.selectOption(`[name="colour.shade"]`, { index: 3 });
  await page.click("button[value=plan]");
  await waitForPlan(page);
  plan = page.url().replace(/#.*/, "");
  await page.waitForSelector(".turning:not([hidden])");
});

after(async () => {
  await context?.close();
  await browser?.close();
  await salon?.stop();
  if (folder) await removeFolder(folder);
});

const card = () => page.textContent("[data-card]");
/** Chooses the first site of the list, which turns the head to it. */
async function choose(nth = 0) {
  const line = page.locator(".rows details summary").nth(nth);
  const name = (await line.locator("strong").textContent()).trim();
  await line.click();
  await page.waitForFunction((n) => document.querySelector("[data-card] h3")?.textContent.startsWith(n), name);
  return name;
}

test("every style that she wears is a button, and shows how well bonds are hidden", async () => {
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

test("hair down and not enough: more is planned around what is in", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const before = await (await page.request.get(`${plan}/papers/plan.json`)).json();
  await page.click("text=Hair is down: not enough?");
  await page.fill("#more-grams", "much");
  await page.click("[data-changes] >> text=Plan it");
  assert.match(await page.textContent("[data-changes] [role=alert]"), /is no amount of hair/);
  await page.fill("#more-grams", "10");
  await page.click("[data-changes] >> text=Plan it");
  await page.waitForFunction((old) => !location.href.startsWith(old), plan);
  const after = await (await page.request.get(`${page.url().replace(/#.*/, "")}/papers/plan.json`)).json();
  const place = (site) => `${site.above_nape_mm} ${site.along_mm}`;
  const now = new Set(after.sites.map(place));
  for (const site of before.sites) assert.ok(now.has(place(site)), `${site.site} stays where it is`);
  assert.ok(after.sites.length >= before.sites.length);
});

test("another layout can be looked at and taken, and keeps every limit", async () => {
  await page.goto(plan);
  await page.waitForSelector(".turning:not([hidden])");
  const scene = await (await page.request.get(`${plan}/head`)).json();
  const look = page.locator("text=/Look at another layout/");
  assert.equal(await look.count(), scene.others.length);
  if (scene.others.length === 0) return;
  await look.first().click();
  assert.match(await card(), /points more/);
  await page.click("text=Back to the plan");
  assert.match(await card(), /Tap a sandwich/);
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

test("nonsense from outside is refused and breaks nothing", async () => {
  const post = (to, data) => page.request.post(`${plan}${to}`, { data, headers: { origin: salon.address } });
  assert.equal((await post("/judge", { at: { above_nape_mm: 1e9, along_mm: 0 }, others: [] })).status(), 422);
  assert.equal((await post("/judge", { point: [1e308, 0, 0], at: { above_nape_mm: 50, along_mm: 0 }, others: [] })).status(), 422);
  assert.ok((await post("/judge", { nothing: true })).status() >= 400);
  assert.equal((await post("/moves", { sites: [], add_g: -5 })).status(), 422);
  assert.equal((await post("/what-if", { styles: ["on fire"] })).status(), 422);
  assert.equal((await page.request.get(`${plan}/head/on_fire`)).status(), 404);
});

test("nothing was complained of", () => {
  assert.deepEqual(complaints, []);
});
