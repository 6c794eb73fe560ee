import assert from "node:assert/strict";
import { readFile, readdir } from "node:fs/promises";
import { tmpdir } from "node:os";
import { after, before, test } from "node:test";
import { axe, choose, fillClient, importSalon, openPage, openSalon, start, waitForPlan } from "./support.mjs";

let browser, folder, salon, page, complaints, context, close;

before(async () => {
  ({ browser, folder, salon, page, complaints, context, close } = await openSalon());
});

after(() => close?.(salon));

const at = (path) => `${salon.address}${path}`;

test("an empty salon says what the first step is", async () => {
  await page.goto(at("/"));
  assert.equal(await page.textContent("h2"), "Begin with the consultation");
  assert.deepEqual(await axe(page), []);
  await page.click("text=Add the first client");
  assert.match(page.url(), /\/clients\/new$/);
  assert.deepEqual(await axe(page), []);
});

test("the salon's ring, stock and prices are taken in and given back", async () => {
  await importSalon(page, salon.address);
  assert.deepEqual(await axe(page), []);
  assert.equal(await page.textContent(".house"), "Test Chair");
  await page.click("text=Open the ring");
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("text=Export ring")]);
  const ring = JSON.parse(await readFile(await download.path(), "utf8"));
  assert.ok(ring.shades.length > 3);
  await page.setInputFiles("#ring-file", { name: "ring.json", mimeType: "application/json", buffer: Buffer.from("{\"shades\":[]}") });
  await page.click("text=Import ring");
  assert.match(await page.textContent(".faults"), /Nothing was saved/);
  assert.ok((await page.locator("#ring .ring li").count()) > 3, "the old ring is still there");
});

test("nonsense is refused beside its field and nothing typed is lost", async () => {
  await page.goto(at("/clients/new"));
  await fillClient(page, { "client.name": "Nonsense <b>&amp;</b>", "hair.own_length_mm": "ten inches", "head.circumference_mm": "56" });
  await choose(page, "consultation.swims", "true");
  await page.click("text=Add a place");
  await page.selectOption('[name="head.avoid.side"] >> nth=0', "left");
  await page.fill('[name="head.avoid.reason"] >> nth=0', "cowlick");
  const [answer] = await Promise.all([page.waitForResponse((r) => r.request().method() === "POST" && !r.url().endsWith("/measuring/check")), page.click("button[value=save]")]);
  assert.equal(answer.status(), 422);
  assert.match(await page.textContent("#hair-own_length_mm-says .error"), /not a number/);
  assert.equal(await page.inputValue('[name="client.name"]'), "Nonsense <b>&amp;</b>");
  assert.equal(await page.inputValue('[name="hair.own_length_mm"]'), "ten inches");
  assert.equal(await page.inputValue('[name="head.avoid.reason"] >> nth=0'), "cowlick");
  assert.ok(await page.isChecked('input[name="consultation.swims"][value="true"]'));
  assert.ok(await page.isChecked('input[name="consultation.allergies"][value="none"]'));
  assert.ok(await page.evaluate(() => document.activeElement?.classList.contains("faults")), "the faults have the focus");
  assert.deepEqual(await axe(page), []);
});

test("markup typed into every field is only text", async () => {
  await page.goto(at("/clients/new"));
  for (const button of await page.locator("[data-add]").all()) await button.click();
  const markup = `"><img src=x onerror=alert(1)><script>alert(2)</script>{{7*7}}`;
  const inputs = page.locator('form.facts input[type="text"]');
  for (const input of await inputs.all()) await input.fill(markup);
  await page.click("button[value=save]");
  await page.waitForSelector(".faults");
  assert.equal(await page.locator("main img, main script").count(), 0);
  for (const input of await inputs.all()) assert.equal(await input.inputValue(), markup);
});

test("a head typed in centimetres is caught with a question at its field", async () => {
  await page.goto(at("/clients/new"));
  await fillClient(page, { "head.circumference_mm": "56" });
  await page.selectOption('[name="colour.shade"]', { index: 3 });
  await page.click("button[value=save]");
  assert.ok((await page.textContent("#head-circumference_mm-says .error")).length > 20);
  assert.equal(await page.inputValue('[name="head.circumference_mm"]'), "56");
});

test("a half-filled client is kept and says what a plan still needs", async () => {
  await page.goto(at("/clients/new"));
  await page.fill('[name="client.name"]', "Half Asked");
  await page.click("button[value=plan]");
  await page.waitForURL(/saved=plan/);
  assert.match(await page.textContent(".faults"), /not yet enough for a plan/);
  assert.deepEqual(await axe(page), []);
});

let planAddress;

test("a client goes from the form to a plan with a map", async () => {
  await page.goto(at("/clients/new"));
  await fillClient(page);
  await page.selectOption('[name="colour.shade"]', { index: 3 });
  await page.click("button[value=plan]");
  await waitForPlan(page);
  planAddress = page.url().replace(/#.*/, "");
  assert.match(await page.textContent(".verdict h1"), /^Go ahead.*g she wished\.$/);
  const sites = await page.locator(".rows details").count();
  assert.ok(sites > 4, `${sites} sites`);
  assert.equal(await page.locator(".head-map svg [data-site]").count(), sites);
  await page.locator(".rows details summary").first().click();
  assert.ok(await page.locator(".rows details[open] .why li").first().isVisible());
  assert.deepEqual(await axe(page), []);
});

test("a site tapped on the map opens its reasons", async () => {
  await page.goto(planAddress);
  const mark = page.locator(".head-map svg [data-site]").last();
  const site = await mark.getAttribute("data-site");
  await mark.locator("rect").first().click({ force: true });
  assert.ok(await page.locator(`.rows details[data-site="${site}"]`).evaluate((line) => line.open));
});

test("every paper can be downloaded and is what it says", async () => {
  await page.goto(planAddress);
  const begins = { pdf: "%PDF", svg: "<svg", json: "{", ics: "BEGIN:VCALENDAR", obj: "" };
  const links = await page.locator(".papers a").evaluateAll((all) => all.map((link) => link.getAttribute("href")));
  assert.ok(links.length >= 7, String(links));
  for (const link of links) {
    const answer = await page.request.get(at(link));
    assert.equal(answer.status(), 200, link);
    const text = (await answer.body()).toString("latin1");
    const kind = link.split(".").at(-1);
    assert.ok(text.replace(/^<\?xml[^>]*>\s*/, "").startsWith(begins[kind]), `${link} begins with ${text.slice(0, 20)}`);
  }
  const plan = JSON.parse((await (await page.request.get(`${planAddress}/papers/plan.json`)).body()).toString());
  assert.equal(plan.sites.length, await page.locator(".rows details").count());
});

test("a client who must be refused gets reasons and no map", async () => {
  await page.goto(at("/clients/new"));
  await fillClient(page, { "client.name": "Refused Probe" });
  await page.uncheck('input[name="consultation.health"][value="none"]');
  await choose(page, "consultation.health", "chemotherapy");
  await page.selectOption('[name="colour.shade"]', { index: 3 });
  await page.click("button[value=plan]");
  await waitForPlan(page);
  assert.ok(await page.locator(".verdict.halt").isVisible());
  assert.ok((await page.locator(".verdict .reasons li").count()) > 0);
  assert.equal(await page.locator(".head-map").count(), 0);
  const papers = await page.locator(".papers a").evaluateAll((all) => all.map((link) => link.getAttribute("href").split("/").at(-1)));
  assert.deepEqual(papers, ["plan.json"]);
  assert.deepEqual(await axe(page), []);
});

test("two tablets cannot overwrite each other unseen", async () => {
  await page.goto(at("/clients/new"));
  await page.fill('[name="client.name"]', "Twice Open");
  await page.click("button[value=save]");
  await page.waitForURL(/saved=/);
  const address = page.url().replace(/\?.*/, "");
  const other = await context.newPage();
  await other.goto(address);
  await other.fill('[name="hair.own_length_mm"]', "333");
  await other.click("button[value=save]");
  await other.waitForURL(/saved=/);
  await other.close();
  await page.goto(`${address}?`);
  const stale = await page.evaluate(async (target) => {
    const body = new URLSearchParams({ seen: "1", then: "save", "client.name": "Twice Open", "hair.own_length_mm": "444", all_here: "yes" });
    const answer = await fetch(target, { method: "POST", body });
    return { status: answer.status, text: await answer.text() };
  }, address);
  assert.equal(stale.status, 409);
  assert.match(stale.text, /Yours differs: Her own length[^<]*Theirs: 333/);
  assert.match(stale.text, /value="444"/);
});

test("two tablets cannot overwrite each other's ring unseen", async () => {
  await page.goto(at("/settings/ring?edit=S01#shade"));
  const name = await page.inputValue('#shade [name="name"]');
  const other = await context.newPage();
  await other.goto(at("/settings/ring?edit=S01#shade"));
  await other.fill('#shade [name="name"]', "Named on the other tablet");
  await other.click("#shade button[type=submit]");
  await other.waitForURL(/\/settings\/ring$/);
  await other.close();
  await page.fill('#shade [name="name"]', "Named here");
  await page.click("#shade button[type=submit]");
  await page.waitForSelector(".both");
  assert.match(await page.textContent(".both"), /Named on the other tablet[\s\S]*Named here/);
  assert.equal(await page.inputValue('#shade [name="name"]'), "Named here");
  assert.deepEqual(await axe(page), []);
  await page.fill('#shade [name="name"]', name);
  await page.click("#shade button[type=submit]");
  await page.waitForURL(/\/settings\/ring$/);
  assert.ok((await page.textContent("#ring")).includes(name));
});

test("no name stands in a title or an address that the browser keeps", async () => {
  await page.goto(at("/clients"));
  await page.fill("#search", "Ada Probe");
  await page.keyboard.press("Enter");
  await page.click(".client-list a.who");
  for (const to of ["", "/colour", "/measuring", planAddress]) {
    await page.goto(to === planAddress ? to : `${page.url().replace(/(\/clients\/[0-9a-f-]+).*/, "$1")}${to}`);
    assert.match(await page.textContent("main"), /Ada Probe/);
    assert.doesNotMatch(`${await page.title()} ${page.url()}`, /ada|probe/i);
  }
});

test("search narrows the list while she types", async () => {
  await page.goto(at("/clients"));
  await page.fill("#search", "refu");
  await page.waitForFunction(() => document.querySelectorAll(".client-list li").length === 1);
  assert.match(await page.textContent(".client-list"), /Refused Probe/);
  assert.ok(page.url().endsWith("/clients"), "what is searched for stands in no address");
  assert.deepEqual(await axe(page), []);
});

test("the keyboard alone finds a client and saves her", async () => {
  await page.goto(at("/clients"));
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Skip to the page");
  await page.keyboard.press("Enter");
  const focusOn = async (wanted) => {
    for (let step = 0; step < 400; step += 1) {
      await page.keyboard.press("Tab");
      if (await page.evaluate((text) => document.activeElement?.matches(text), wanted)) return;
    }
    assert.fail(`the keyboard never reaches ${wanted}`);
  };
  await focusOn('a[href="/clients/new"]');
  await page.keyboard.press("Enter");
  await page.waitForURL(/new$/);
  await focusOn('[name="client.name"]');
  await page.keyboard.type("Keyed In");
  await focusOn('[name="consultation.swims"]');
  await page.keyboard.press("ArrowLeft");
  await focusOn('button[value="save"]');
  await page.keyboard.press("Enter");
  await page.waitForURL(/saved=/);
  assert.equal(await page.inputValue('[name="client.name"]'), "Keyed In");
});

test("no page needs more width than a narrow phone has", async () => {
  const narrow = await openPage(browser, salon.address, { viewport: { width: 320, height: 640 } });
  const client = await page.request.get(at("/clients")).then((answer) => answer.text()).then((text) => text.match(/\/clients\/[0-9a-f-]{36}/)[0]);
  for (const path of ["/clients", "/clients/new", client, "/settings", new URL(planAddress).pathname]) {
    await narrow.page.goto(at(path));
    const wide = await narrow.page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(wide <= 320, `${path} is ${wide} wide`);
  }
  await narrow.context.close();
});

test("dark pages read as well as light ones", async () => {
  const dark = await openPage(browser, salon.address, { colorScheme: "dark" });
  for (const path of ["/clients", "/clients/new", "/settings", new URL(planAddress).pathname]) {
    await dark.page.goto(at(path));
    assert.deepEqual(await axe(dark.page), [], path);
  }
  await dark.context.close();
});

test("what cannot be found says so calmly", async () => {
  for (const path of ["/nowhere", "/clients/0190b7a0-0000-7000-8000-000000000000", "/plans/x", "/making/x"]) {
    const answer = await page.request.get(at(path));
    assert.equal(answer.status(), 404, path);
    assert.match(await answer.text(), /Nothing here/);
  }
});

test("records survive a restart", async () => {
  await page.goto("about:blank");
  const { code } = await salon.stop();
  assert.equal(code, 0);
  assert.ok(!(await readdir(folder)).includes("salon.db-wal"), "the log is folded into the records");
  salon = await start("serve", "--data", folder);
  const again = await openPage(browser, salon.address);
  await again.page.goto(at("/clients"));
  await again.page.fill("#search", "ada");
  await again.page.keyboard.press("Enter");
  await again.page.waitForFunction(() => document.querySelectorAll(".client-list li").length === 1);
  assert.match(await again.page.textContent(".client-list"), /Ada Probe/);
  await again.page.goto(at(new URL(planAddress).pathname));
  assert.ok((await again.page.locator(".rows details").count()) > 4);
  assert.deepEqual(again.complaints, []);
  await again.context.close();
});

test("the invented salon is there at once and gone afterwards", async () => {
  const ours = async () => (await readdir(tmpdir())).filter((name) => name.startsWith("strandwright-demo-"));
  const before = await ours();
  const demo = await start("demo");
  const shown = await openPage(browser, demo.address);
  await shown.page.goto(demo.address);
  assert.ok((await shown.page.locator(".client-list li").count()) >= 6);
  assert.deepEqual(shown.complaints, []);
  await shown.context.close();
  const { code } = await demo.stop("SIGINT");
  assert.equal(code, 0);
  assert.deepEqual(await ours(), before);
});

test("no page broke its own policy or asked anyone else for anything", () => {
  assert.deepEqual(complaints.filter((text) => !text.includes("about:blank")), []);
});
