import {spawn} from "node:child_process";
import {cpSync, mkdirSync, mkdtempSync, readFileSync, realpathSync, rmSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {ROOT} from "./tracked-files.ts";

/** The real compiler, which the pretended npm "installs". */
const TSC = createRequire(import.meta.url).resolve("typescript/bin/tsc");

/**
 * Stands in for npm: notes its arguments, then writes the packages of the lock file. PRETEND=killed ends it and the
 * process that started it half-way, as a lost connection or an impatient user does; PRETEND=failing ends with 1.
 */
const PRETENDED_NPM = `
import {appendFileSync, mkdirSync, rmSync, writeFileSync} from "node:fs";
import {dirname} from "node:path";
const write = (file, text) => { mkdirSync(dirname(file), {recursive: true}); writeFileSync(file, text); };
const {NODE_ENV, npm_config_ignore_scripts} = process.env;
appendFileSync("npm-calls.jsonl", JSON.stringify({args: process.argv.slice(2), NODE_ENV, npm_config_ignore_scripts}) + "\\n");
rmSync("node_modules", {recursive: true, force: true});
write("node_modules/first/package.json", "{}");
if (process.env.PRETEND === "killed") { process.kill(process.ppid, "SIGKILL"); process.kill(process.pid, "SIGKILL"); }
if (process.env.PRETEND === "failing") process.exit(1);
if (process.env.PRETEND !== "omitting") write("node_modules/second/package.json", "{}");
write("node_modules/typescript/package.json", '{"version": "5.9.3"}');
write("node_modules/typescript/bin/tsc", \`require("fs").appendFileSync("tsc-calls.txt", "called\\\\n"); require(\${JSON.stringify(process.env.REAL_TSC)});\`);
write("node_modules/vitest/vitest.mjs", 'console.log(JSON.stringify({args: process.argv.slice(2), require: process.env.FAIRPULL_REQUIRE}));');
`;

const START = `
export function start({args, out, stdout}: {args: string[]; out: string; stdout: {write(text: string): void}}) {
  stdout.write(JSON.stringify({args, out}));
  return 0;
}
`;

export interface Outcome {
  code: number | null;
  stdout: string;
  stderr: string;
}

/** A project of three packages and two source files with our real lib/bin, in a folder with a blank in its name. */
export class Project {
  readonly root: string;

  constructor() {
    // realpath: on macOS the temporary folder is a link
    this.root = join(realpathSync(mkdtempSync(join(tmpdir(), "fairpull "))), "a blank");
    this.write("npm/package.json", '{"type": "module"}');
    this.write("npm/npm-cli.js", PRETENDED_NPM);
    this.write("package.json", '{"name": "project", "type": "module"}');
    this.lock({first: {}, second: {}, elsewhere: {optional: true}});
    this.write("tsconfig.json", "{}");
    this.write(
      "lib/tsconfig.json",
      JSON.stringify({
        compilerOptions: {
          ...{target: "ES2022", module: "NodeNext", strict: true, rootDir: ".", outDir: "dist"},
          ...{lib: ["ES5"], types: [], skipLibCheck: true}, // half a second a build
          ...{declaration: true, incremental: true, tsBuildInfoFile: "dist/.tsbuildinfo"},
        },
        include: ["**/*.ts"],
        exclude: ["dist"],
      }),
    );
    this.write("lib/index.ts", "export const answer: number = 42;\n");
    this.write("lib/cli/start.ts", START);
    this.write("lib/publish/page.css", "p {}\n");
    this.write("data-demo/day/session.yaml", "fairpull: 1\n");
    cpSync(join(ROOT, "lib", "bin"), join(this.root, "lib", "bin"), {recursive: true});
  }

  write(file: string, text: string): void {
    mkdirSync(dirname(join(this.root, file)), {recursive: true});
    writeFileSync(join(this.root, file), text);
  }

  /** A lock file with these packages beside the project itself. */
  lock(packages: Record<string, object>): void {
    const placed = Object.entries(packages).map(([name, entry]) => [`node_modules/${name}`, entry]);
    this.write("package-lock.json", JSON.stringify({packages: {"": {}, ...Object.fromEntries(placed)}}));
  }

  /** What the pretended npm was called with, call by call. */
  npmCalls(): {args: string[]; NODE_ENV?: string; npm_config_ignore_scripts?: string}[] {
    return this.lines("npm-calls.jsonl").map(line => JSON.parse(line));
  }

  /** How often the compiler ran. */
  builds(): number {
    return this.lines("tsc-calls.txt").length;
  }

  private lines(file: string): string[] {
    try {
      return readFileSync(join(this.root, file), "utf8").trimEnd().split("\n");
    } catch {
      return [];
    }
  }

  /** Runs prepare.mjs as `npm run` would. */
  prepare(args: string[], env: Record<string, string> = {}): Promise<Outcome> {
    return new Promise((done, failed) => {
      const child = spawn(process.execPath, [join(this.root, "lib", "bin", "prepare.mjs"), ...args], {
        cwd: this.root,
        stdio: ["ignore", "pipe", "pipe"],
        env: {...process.env, npm_execpath: join(this.root, "npm", "npm-cli.js"), REAL_TSC: TSC, ...env},
      });
      const outcome: Outcome = {code: null, stdout: "", stderr: ""};
      child.stdout.on("data", text => (outcome.stdout += text));
      child.stderr.on("data", text => (outcome.stderr += text));
      child.on("error", failed);
      child.on("close", code => done({...outcome, code}));
    });
  }

  remove(): void {
    rmSync(dirname(this.root), {recursive: true, force: true});
  }
}
