// A PostgreSQL server of a test's own, in a temporary folder, reached by its socket only.
import { execFileSync, spawn } from "node:child_process";
import { chmodSync, chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { randomUUID } from "node:crypto";

const versions = "/usr/lib/postgresql";

/** The newest server that Debian's packages put there; without one the test fails. */
function programs() {
  const found = existsSync(versions) ? readdirSync(versions).map((name) => join(versions, name, "bin")).filter((bin) => existsSync(join(bin, "initdb"))) : [];
  if (!found.length) throw new Error("PostgreSQL is missing: sudo apt-get install postgresql");
  return found.sort().at(-1);
}

/** Starts a server; the superuser, whom it refuses, becomes Debian's user for it. */
export async function startDatabase() {
  const bin = programs();
  const folder = mkdtempSync(join(tmpdir(), "strandwright-test-database-"));
  const isSuper = process.getuid() === 0;
  const drop = isSuper ? ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", "--"] : [];
  const command = (...words) => [...drop, ...words];
  const number = (flag) => Number(execFileSync("id", [flag, "postgres"]).toString());
  chmodSync(folder, 0o700);
  if (isSuper) chownSync(folder, number("-u"), number("-g"));
  const data = join(folder, "data");
  const [make, ...made] = command(join(bin, "initdb"), "--auth=trust", "--username=admin", "--encoding=UTF8", "--locale=C", "--no-sync", "--pgdata", data);
  execFileSync(make, made, { cwd: folder, stdio: "ignore" });
  const [run, ...runs] = command(join(bin, "postgres"), "-D", data, "-k", folder, "-c", "listen_addresses=", "-c", "fsync=off");
  const server = spawn(run, runs, { cwd: folder, stdio: "ignore" });
  const ended = new Promise((resolve) => server.once("exit", resolve));
  const until = Date.now() + 60_000;
  for (;;) {
    try {
      execFileSync(join(bin, "pg_isready"), ["-h", folder, "-U", "admin"], { stdio: "ignore" });
      break;
    } catch {
      if (Date.now() > until) throw new Error("the database server does not answer");
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
  }
  const sql = (text) => execFileSync(join(bin, "psql"), ["-h", folder, "-U", "admin", "-d", "postgres", "-v", "ON_ERROR_STOP=1", "-c", text], { stdio: "ignore" });
  // The owner of the database may make roles and is no superuser, as it should be in a salon.
  sql("CREATE ROLE keeper LOGIN CREATEROLE NOSUPERUSER");
  sql("CREATE DATABASE hair OWNER keeper");
  return {
    /** The address of a new salon in it. */
    place: () => `postgres://keeper@/hair?host=${encodeURIComponent(folder)}&salon=${randomUUID()}`,
    stop: async () => {
      server.kill("SIGINT");
      await ended;
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
