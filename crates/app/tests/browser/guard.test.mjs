// Who may ask and who may change: over the wire, without a browser's manners.
import assert from "node:assert/strict";
import http from "node:http";
import { after, before, test } from "node:test";
import { newFolder, removeFolder, start } from "./support.mjs";

let folder, salon;

before(async () => {
  folder = await newFolder();
  salon = await start("serve", "--data", folder);
});
after(async () => {
  await salon?.stop();
  if (folder) await removeFolder(folder);
});

function ask(method, path, headers) {
  const { hostname, port, host } = new URL(salon.address);
  return new Promise((resolve, reject) => {
    const request = http.request({ hostname, port, method, path, headers: { host, ...headers } }, (answer) => {
      answer.resume();
      answer.on("end", () => resolve(answer));
    });
    request.on("error", reject);
    request.end();
  });
}

const changes = [
  "/clients", "/clients/search", "/clients/0190b7a0-0000-7000-8000-000000000000", "/clients/0190b7a0-0000-7000-8000-000000000000/plans",
  "/plans/0190b7a0-0000-7000-8000-000000000000/placed", "/settings/house", "/settings/ring", "/settings/ring/remove",
  "/settings/ring/import", "/settings/stock/import", "/settings/ring/photo",
  ...["colour/photo", "colour/instrument", "colour/sample", "colour/eye"].map((way) => `/clients/0190b7a0-0000-7000-8000-000000000000/${way}`),
  ...["", "/remove", "/measured"].map((way) => `/photos/0190b7a0-0000-7000-8000-000000000000${way}`),
  "/readings/0190b7a0-0000-7000-8000-000000000000/use", "/readings/0190b7a0-0000-7000-8000-000000000000/light",
];

test("no change is taken from a page that is not ours", async () => {
  for (const path of changes) {
    for (const headers of [
      { "sec-fetch-site": "cross-site" }, { "sec-fetch-site": "same-site" }, { origin: "http://evil.example" }, { origin: "null" }, {},
      { host: "evil.example", origin: "http://evil.example" },
    ]) {
      assert.equal((await ask("POST", path, headers)).statusCode, 403, `${path} ${JSON.stringify(headers)}`);
    }
    const own = await ask("POST", path, { origin: salon.address });
    assert.notEqual(own.statusCode, 403, path);
  }
});

test("a foreign host name reads nothing", async () => {
  for (const path of ["/", "/clients", "/settings", "/assets/app.js"]) {
    assert.equal((await ask("GET", path, { host: "salon.evil.example" })).statusCode, 403, path);
  }
});

test("every answer carries the policy and is not kept by the browser", async () => {
  for (const path of ["/clients", "/clients/new", "/settings", "/nowhere"]) {
    const { headers } = await ask("GET", path, {});
    assert.match(headers["content-security-policy"], /default-src 'none'/);
    assert.doesNotMatch(headers["content-security-policy"], /unsafe/);
    assert.equal(headers["cache-control"], "no-store");
    assert.equal(headers["x-content-type-options"], "nosniff");
  }
});

test("a second program on the same records is refused with its own exit code", async () => {
  await assert.rejects(start("serve", "--data", folder), /ended with 11/);
});

test("an address that others can reach is refused", async () => {
  await assert.rejects(start("serve", "--data", folder, "--listen", "0.0.0.0:8999"), /ended with 2/);
});
