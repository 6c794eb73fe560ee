// A set's life on the pages: it goes in, is paid, comes out and goes back, three times, and
// comes out for good; every piece can be read from its number.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, fillClient, importSalon, openSalon, waitForPlan } from "./support.mjs";

let salon, page, complaints, close, client;

before(async () => {
  ({ salon, page, complaints, close } = await openSalon());
  await importSalon(page, salon.address);
});

after(() => close?.(salon));

const at = (path) => `${salon.address}${path}`;
const clean = async () => assert.deepEqual(await axe(page), []);

/** Presses a button and waits for the page that answers it. */
async function press(says) {
  await Promise.all([page.waitForNavigation(), page.locator(`button:has-text("${says}")`).first().click()]);
}

async function plan() {
  await page.goto(at(client));
  await page.click("text=Make the plan");
  await waitForPlan(page);
}

async function begin(kind, because) {
  await page.goto(at(`${client}/visits`));
  await page.check(`input[name=kind][value="${kind}"]`, { force: true });
  await press("Begin the visit");
  if (await page.locator("#because").count()) {
    await clean();
    await page.fill("#because", because);
    await press("Begin the visit");
  }
  assert.match(page.url(), /\/visits\/[0-9a-f-]{36}$/);
}

/** Everything that is to go in goes in; how many sandwiches. */
async function setAll() {
  let count = 0;
  while (await page.locator('button:has-text("Placed")').count()) {
    await press("Placed");
    if (await page.locator('button:has-text("place them as found")').count()) await press("place them as found");
    count += 1;
    assert.ok(count < 200);
  }
  return count;
}

async function takeOutAll() {
  let count = 0;
  while (await page.locator('button:has-text("Slid out")').count()) {
    await press("Slid out");
    count += 1;
    assert.ok(count < 200);
  }
  return count;
}

async function closeVisit() {
  if (await page.locator("#off").count()) {
    for (const name of ["moves_freely", "nothing_shows", "comfortable"]) await page.check(`input[name=${name}][value=yes]`, { force: true });
    await page.fill("#off", "5");
  }
  await press("Close the visit");
  assert.match(await page.textContent("#closed-title"), /Closed on/);
}

test("packs that come in are recorded, and nonsense is said beside the form", async () => {
  await page.goto(at("/shelf"));
  await clean();
  await page.fill("#receive-pieces", "ten");
  await press("Record them");
  assert.match(await page.textContent("#receive .notice"), /“ten” is no whole number/);
  assert.equal(await page.inputValue("#receive-pieces"), "ten");
  await clean();
  const pack = { shade: "S05", length_mm: "450", lot: "L1", supplier: "north", pieces: "10", packs: "2" };
  for (const [name, text] of Object.entries(pack)) await page.fill(`#receive-${name}`, text);
  await press("Record them");
  assert.match(await page.textContent(".head"), /Saved/);
  assert.match(await page.textContent("main table"), /L1/);
});

test("a set goes in, place by place, and a step is taken back", async () => {
  await page.goto(at("/clients/new"));
  await fillClient(page, { "client.name": "Ada Example" });
  await page.selectOption('[name="colour.shade"]', { index: 3 });
  await Promise.all([page.waitForNavigation(), page.click("button[value=save]")]);
  client = new URL(page.url()).pathname;
  await plan();
  await begin("application", "her skin was tested elsewhere");
  await clean();
  await press("Placed");
  if (await page.locator('button:has-text("place them as found")').count()) {
    await clean();
    await press("place them as found");
  }
  assert.match(await page.textContent(".undo-line"), /Saved.*Last done: B1\.1 in/s);
  await press("Undo");
  assert.match(await page.textContent(".undo-line"), /Nothing done yet/);
  await press("Skip this place");
  assert.match(await page.textContent(".faults"), /No reason is said/i);
  const count = await setAll();
  assert.ok(count > 3);
  await press("Close the visit");
  assert.match(await page.textContent(".faults"), /closing checks are not said/);
  for (const name of ["moves_freely", "nothing_shows", "comfortable"]) await page.check(`input[name=${name}][value=yes]`, { force: true });
  await page.fill("#off", "1");
  await press("Close the visit");
  assert.match(await page.textContent(".faults"), /1 mm off the scalp/);
  assert.ok(await page.isChecked('input[name="comfortable"][value="yes"]'));
  assert.equal(await page.inputValue("#off"), "1");
  await closeVisit();
  await clean();
  assert.match(await page.textContent("main"), /Next re-tape: /);
});

test("it is invoiced once and paid", async () => {
  await press("Make the invoice");
  await clean();
  await page.fill("#invoice", "1");
  await page.fill("#amount", "a lot");
  await press("Keep it");
  assert.match(await page.textContent(".faults"), /is not an amount/);
  await page.fill("#amount", "10");
  await press("Keep it");
  assert.match(await page.textContent("main"), /10\.00/);
  await page.goto(at(`${client}/visits`));
  await clean();
  await page.click(".papers a");
  await press("Make the invoice");
  assert.match(await page.textContent(".faults"), /number 1/);
});

test("she is booked, and the day shows her", async () => {
  await page.goto(at(`${client}/visits`));
  const day = await page.inputValue("#book-day");
  assert.match(day, /^\d{4}-\d{2}-\d{2}$/, "the day she is due");
  await press("Book her");
  assert.equal(new URL(page.url()).searchParams.get("on"), day);
  assert.match(await page.textContent(".diary"), /10:00.*Ada Example, Re-tape/s);
  await clean();
  await page.click("text=Move or cancel");
  await press("Cancel it");
  assert.match(await page.textContent("main"), /Nobody is booked/);
});

test("three times it comes out, is taped anew and goes back", async () => {
  for (let round = 0; round < 3; round += 1) {
    await plan();
    await begin("re-tape", "an hour later, for the trial");
    const out = await takeOutAll();
    assert.ok(out > 3);
    if (round === 0) await clean();
    await press("All cleaned and re-taped");
    assert.ok((await setAll()) > 3);
    await closeVisit();
  }
});

test("it comes out for good, and every piece can be read", async () => {
  await begin("removal", "");
  assert.ok((await takeOutAll()) > 3);
  await closeVisit();
  await page.goto(at(`${client}/visits`));
  assert.match(await page.textContent(".head"), /No piece of hers is recorded in her hair/);
  assert.equal(await page.locator(".papers li").count(), 5);
  // Her first visit is long past: what was done is read from the events.
  await page.locator(".papers a").last().click();
  assert.match(await page.textContent(".life"), /B1\.1 in/);
  await clean();
  await page.goBack();
  await page.click("#pieces a");
  assert.match(await page.textContent(".life"), /set at B\d+\.\d+.*taken out|taken out/s);
  await clean();
  assert.deepEqual(complaints.filter((line) => !line.includes("422")), []);
});
