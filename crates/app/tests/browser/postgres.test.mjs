// The journey on PostgreSQL: from an empty salon to a placed set, through a restart and a backup.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { startDatabase } from "./database.mjs";
import { fillClient, importSalon, newFolder, openBrowser, openPage, removeFolder, start, waitForPlan } from "./support.mjs";

const program = process.env.STRANDWRIGHT_BIN;
const passphrase = "quiet copper lantern under snow";
let browser, database, folder, place, words, salon, page, complaints, context, planAddress;

const at = (path) => `${salon.address}${path}`;
const serve = () => start("serve", "--data", place);

before(async () => {
  browser = await openBrowser();
  folder = await newFolder();
  database = await startDatabase();
  place = database.place();
  words = join(folder, "words");
  writeFileSync(words, `${passphrase}\n`, { mode: 0o600 });
  process.env.STRANDWRIGHT_PASSPHRASE = passphrase;
  execFileSync(program, ["act", "--data", place, "--begin", "--passphrase-file", words, "--recovery-code-to", join(folder, "code")], { input: "" });
  salon = await serve();
  ({ page, complaints, context } = await openPage(browser, salon.address));
});

after(async () => {
  await context?.close();
  await browser?.close();
  await salon?.stop();
  await database?.stop();
  if (folder) await removeFolder(folder);
});

test("a salon is set up and a client goes from the form to a placed set", async () => {
  await importSalon(page, salon.address);
  await page.goto(at("/clients/new"));
  await fillClient(page);
  await page.selectOption('[name="colour.shade"]', { index: 3 });
  await page.click("button[value=plan]");
  await waitForPlan(page);
  planAddress = new URL(page.url()).pathname;
  assert.ok((await page.locator(".rows details").count()) > 4);
  for (const link of await page.locator(".papers a").evaluateAll((all) => all.map((each) => each.getAttribute("href")))) {
    assert.equal((await page.request.get(at(link))).status(), 200, link);
  }
  await page.fill('form[action$="/placed"] [name="day"]', "2026-03-02");
  await page.click('form[action$="/placed"] button[type=submit]');
  await page.waitForFunction(() => document.querySelector('form[action$="/placed"] [name="day"]')?.value === "2026-03-02");
});

test("two pages cannot overwrite each other unseen", async () => {
  await page.goto(at("/clients"));
  await page.click(".client-list a");
  const hers = page.url();
  const other = await openPage(browser, salon.address);
  await other.page.goto(hers);
  await other.page.fill('[name="hair.own_length_mm"]', "360");
  await other.page.click("button[value=save]");
  await other.page.waitForURL(/saved/);
  await page.fill('[name="hair.own_length_mm"]', "370");
  await page.click("button[value=save]");
  await page.waitForFunction(() => document.body.textContent.includes("360") && document.querySelector('[name="hair.own_length_mm"]').value === "370");
  await other.context.close();
});

test("all of it is there after a restart, and a backup of it is verified", async () => {
  await page.goto("about:blank");
  assert.equal((await salon.stop()).code, 0);
  const archive = join(folder, "salon.strandwright");
  execFileSync(program, ["backup", "--data", place, "--passphrase-file", words, "--to", archive]);
  const told = JSON.parse(execFileSync(program, ["verify", archive, "--recovery-code-file", join(folder, "code"), "--json"]).toString());
  assert.equal(told.ok, true, readFileSync(archive).length);
  // Back from one file and one code, in a folder of its own.
  const back = join(folder, "back");
  const freed = ["--recovery-code-file", join(folder, "code")];
  execFileSync(program, ["restore", archive, "--data", back, ...freed, "--without-erasures"]);
  salon = await serve();
  const found = await openPage(browser, salon.address);
  await found.page.goto(at("/clients"));
  await found.page.fill("#search", "ada");
  await found.page.keyboard.press("Enter");
  await found.page.waitForFunction(() => document.querySelectorAll(".client-list li").length === 1);
  await found.page.goto(at(planAddress));
  assert.ok((await found.page.locator(".rows details").count()) > 4);
  assert.equal(await found.page.inputValue('form[action$="/placed"] [name="day"]'), "2026-03-02");
  assert.deepEqual(found.complaints, []);
  await found.context.close();
});

test("no page broke its own policy or asked anyone else for anything", () => {
  assert.deepEqual(complaints, []);
});
