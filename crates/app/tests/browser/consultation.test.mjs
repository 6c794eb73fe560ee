// The consultation, one part a screen: kept from the first letter, signed on the pad, at every size.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, choose, openSalon, start } from "./support.mjs";

let salon, folder, page, context, complaints, close, talk;

before(async () => {
  ({ salon, folder, page, context, complaints, close } = await openSalon());
});

after(() => close?.(salon));

const at = (path) => `${salon.address}${path}`;
const sizes = [[320, 720], [390, 844], [1024, 768]];

/** Nothing is wrong with the page at any size, and nothing of it lies beside the screen. */
async function clean() {
  for (const [width, height] of sizes) {
    await page.setViewportSize({ width, height });
    assert.deepEqual(await axe(page), []);
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), `wider than ${width}`);
  }
}

const draftIsKept = () => page.waitForFunction(() => /^Draft kept \d\d:\d\d\./.test(document.querySelector("[data-status]").textContent));

async function next() {
  await Promise.all([page.waitForNavigation(), page.click("button.main[value=next]")]);
}

test("a new client begins with her name, kept from the first letter on", async () => {
  await page.goto(at("/clients"));
  await Promise.all([page.waitForNavigation(), page.click("text=Begin a consultation")]);
  talk = page.url().replace(/\/before$/, "");
  await page.locator('[name="client.name"]').pressSequentially("N");
  await draftIsKept();
  await page.locator('[name="client.name"]').pressSequentially("oor Probe");
  // Left at once, by a link: what the hand wrote last goes along.
  await page.click("nav[aria-label=Main] a[href=\"/clients\"]");
  await page.waitForURL(/\/clients$/);
  await page.waitForTimeout(300);
  await page.goto(`${talk}/before`);
  assert.equal(await page.inputValue('[name="client.name"]'), "Noor Probe");
  await clean();
});

test("a draft outlives the program", async () => {
  await page.fill('[name="client.age_years"]', "17");
  await draftIsKept();
  await salon.stop();
  salon = await start("serve", "--data", folder, "--listen", new URL(salon.address).host);
  await page.goto(`${talk}/before`);
  assert.equal(await page.inputValue('[name="client.age_years"]'), "17");
  await next();
  assert.match(page.url(), /\/wish$/);
});

test("a question that follows from an answer comes up beside it, and says why", async () => {
  const wanted = page.locator('[data-question="consultation.wanted_length_mm"]');
  assert.ok(!(await wanted.isVisible()));
  await choose(page, "consultation.goal", "length");
  await wanted.waitFor({ state: "visible" });
  assert.match(await wanted.textContent(), /asked because she wants length/);
  assert.ok(await wanted.locator(".not-asked").isVisible());
  assert.ok(!(await page.locator('[data-question="consultation.goal"] .not-asked').isVisible()));
  await choose(page, "consultation.fullness", "full");
  await page.locator('[data-question="consultation.added_g"]').waitFor({ state: "hidden" });
  await page.fill('[name="consultation.wanted_length_mm"]', "500");
  await draftIsKept();
  await clean();
  await next();
});

test("what cannot be right is said beside the field, and nothing typed is lost", async () => {
  await page.fill('[name="consultation.sport_per_week"]', "often");
  await choose(page, "consultation.ties_up", "sometimes");
  await next();
  assert.match(await page.textContent('[data-question="consultation.sport_per_week"] .error'), /not a number/);
  assert.equal(await page.inputValue('[name="consultation.sport_per_week"]'), "often");
  assert.ok(await page.isChecked('[name="consultation.ties_up"][value=sometimes]'));
  await clean();
  await page.fill('[name="consultation.sport_per_week"]', "2");
  await next();
  assert.match(page.url(), /\/hair$/);
  await next();
});

test("her health is asked once she agreed, and a network that is lost is said", async () => {
  assert.equal(await page.locator('[name="consultation.scalp"]').count(), 0);
  await clean();
  await Promise.all([page.waitForNavigation(), page.locator("button", { hasText: /^She agrees$/ }).click()]);
  await context.setOffline(true);
  await choose(page, "consultation.scalp", "sore");
  await page.waitForFunction(() => /stay on this page/.test(document.querySelector("[data-status]").textContent));
  await context.setOffline(false);
  await draftIsKept();
  // The browser complains of the network that was taken away, and of nothing else.
  assert.ok(complaints.length > 0 && complaints.splice(0).every((says) => says.includes("ERR_INTERNET_DISCONNECTED")));
  for (const name of ["allergies", "health"]) await choose(page, `consultation.${name}`, "none");
  await choose(page, "consultation.reacted_before", "false");
  await clean();
  await next();
  assert.match(page.url(), /\/agreement$/);
});

test("the pad takes a mouse and a finger, and can be cleared", async () => {
  await clean();
  const pad = page.locator("canvas");
  const drawn = () => page.inputValue('[name="signature.drawn"]');
  await pad.scrollIntoViewIfNeeded();
  const line = async () => {
    const box = await pad.boundingBox();
    await page.mouse.move(box.x + 20, box.y + 40);
    await page.mouse.down();
    for (let step = 1; step < 12; step += 1) await page.mouse.move(box.x + 20 + 20 * step, box.y + 40 + 4 * step);
    await page.mouse.up();
  };
  await line();
  assert.ok(JSON.parse(await drawn()).strokes[0].length > 5);
  await page.click("text=Clear the pad");
  assert.equal(await drawn(), "");
  await pad.evaluate((canvas) => {
    const box = canvas.getBoundingClientRect();
    const send = (kind, x, y) =>
      canvas.dispatchEvent(new PointerEvent(kind, { pointerId: 1, pointerType: "touch", isPrimary: true, bubbles: true, clientX: box.left + x, clientY: box.top + y }));
    canvas.setPointerCapture = () => {};
    send("pointerdown", 10, 10);
    send("pointermove", 60, 30);
    send("pointermove", 90, 60);
    send("pointerup", 90, 60);
  });
  assert.equal(JSON.parse(await drawn()).strokes[0].length, 3);
  await page.click("text=Clear the pad");
  await page.click("text=Sign and keep");
  await page.waitForSelector("#sign-error");
  assert.match(await page.textContent("#sign-error"), /no signature yet/);
  await clean();
  await pad.scrollIntoViewIfNeeded();
  await line();
  await Promise.all([page.waitForNavigation(), page.click("text=Sign and keep")]);
  assert.match(await page.textContent("#signed"), /Signed on the screen on .*words work-1/);
  await clean();
});

test("what follows names each rule with reason and source, and gives letter and copy", async () => {
  await next();
  if (page.url().includes("follows")) await next();
  assert.match(page.url(), /\/outcome$/);
  assert.equal(await page.textContent("#verdict-title"), "Refer");
  const rule = page.locator(".spoke li").first();
  assert.match(await rule.textContent(), /refer[\s\S]*sore[\s\S]*Because of scalp: sore[\s\S]*Billero and others, 2018/);
  assert.match(await page.textContent(".spoke"), /It changes: a guardian signs/);
  await clean();
  assert.ok(!(await page.isChecked("[name=with]")), "nothing goes along by itself");
  const [letter] = await Promise.all([page.waitForEvent("download"), page.locator("button", { hasText: "Letter to take along" }).click()]);
  assert.equal(letter.suggestedFilename(), "letter.pdf");
  const [copy] = await Promise.all([page.waitForEvent("download"), page.click("text=Her copy")]);
  assert.equal(copy.suggestedFilename(), "consultation.pdf");
  assert.doesNotMatch(`${await page.title()} ${page.url()}`, /noor|probe|sore/i);
});

test("the keyboard alone answers, signs by name and goes on", async () => {
  await page.goto(at("/clients"));
  await Promise.all([page.waitForNavigation(), page.click("text=New consultation")]);
  const other = page.url().replace(/\/before$/, "");
  await page.goto(`${other}/agreement`);
  const focusOn = async (wanted) => {
    for (let step = 0; step < 80; step += 1) {
      await page.keyboard.press("Tab");
      if (await page.evaluate((text) => document.activeElement?.matches(text), wanted)) return;
    }
    assert.fail(`the keyboard never reaches ${wanted}`);
  };
  await focusOn('[name="consultation.returns_weeks"]');
  await page.keyboard.type("7");
  await focusOn("#signed-name");
  await page.keyboard.type("Keyed In");
  await focusOn('[name="signature.stands"]');
  await page.keyboard.press("Space");
  await focusOn("button[value=sign]");
  await Promise.all([page.waitForNavigation(), page.keyboard.press("Enter")]);
  assert.match(await page.textContent("#signed"), /Signed by typing “Keyed In”/);
  assert.equal(await page.inputValue('[name="consultation.returns_weeks"]'), "7");
});

test("nothing complained", () => {
  assert.deepEqual(complaints, []);
});
