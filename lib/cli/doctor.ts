import {existsSync, readFileSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import type {Command} from "commander";
import {findKernel, KERNEL_NAME} from "../kernel/install.ts";
import type {DoctorDocument, DoctorItem} from "../result/kernel-documents.ts";
import type {CommandIO} from "./io.ts";
import {documentText} from "./output.ts";

const require = createRequire(import.meta.url);

const BROWSERS = ["chromium", "chromium-browser", "google-chrome", "chrome"];

/** What working with notebooks rests on: what is there, what is missing, and what to do about it. */
export function examine(): DoctorDocument {
  const items = [node(), sockets(), kernel(), frames(), jupyter(), browser()];
  return {format: "fairpull.doctor/1", items};
}

function node(): DoctorItem {
  const {engines} = JSON.parse(readFileSync(new URL("../../package.json", import.meta.url), "utf8"));
  const fits = nodeFits(process.versions.node);
  return {
    name: "Node",
    state: fits ? "there" : "wrong",
    required: true,
    words: `${process.versions.node} at ${process.execPath}`,
    hint: fits ? null : `install Node ${engines.node}`,
  };
}

/** True from the first release on in which packages of the new kind can be required. */
function nodeFits(version: string): boolean {
  const [major = 0, minor = 0] = version.split(".").map(Number);
  return major >= 24 || (major === 22 && minor >= 13) || (major === 20 && minor >= 19);
}

function sockets(): DoctorItem {
  const item = {name: "ZeroMQ", required: true};
  try {
    const {version} = require("zeromq") as {version: string};
    return {
      ...item,
      state: "there",
      words: `library ${version}, by which the kernel speaks with Jupyter`,
      hint: null,
    };
  } catch (error) {
    const words = `the package cannot be loaded, ${error instanceof Error ? error.message.split("\n")[0] : error}`;
    return {...item, state: "wrong", words, hint: "install the packages again: npm ci"};
  }
}

function kernel(): DoctorItem {
  const item = {name: "kernel", required: false};
  const hint = "run: fairpull kernel install";
  const spec = findKernel(KERNEL_NAME);
  if (!spec) return {...item, state: "missing", words: "no Jupyter front-end knows the kernel yet", hint};
  const gone = spec.argv.filter(word => path.isAbsolute(word)).find(file => !existsSync(file));
  if (!spec.isOurs || gone !== undefined) {
    const words = spec.isOurs
      ? `${spec.folder} names ${gone}, which is gone`
      : `${spec.folder} is another kernel`;
    return {...item, state: "wrong", words, hint};
  }
  return {...item, state: "there", words: `"${spec.displayName}" in ${spec.folder}`, hint: null};
}

function frames(): DoctorItem {
  const item = {name: "danfojs-node", required: false};
  for (const from of [path.join(process.cwd(), "cell.js"), import.meta.filename]) {
    try {
      const file = createRequire(from).resolve("danfojs-node/package.json");
      const {version} = JSON.parse(readFileSync(file, "utf8"));
      return {...item, state: "there", words: `${version}, for data frames in notebooks`, hint: null};
    } catch {
      // not there; the next place may have it
    }
  }
  return {
    ...item,
    state: "missing",
    words: "the package for data frames in notebooks is not installed",
    hint: "work in a checkout of fairpull, whose package.json says how it is installed",
  };
}

function jupyter(): DoctorItem {
  const found = ["jupyter-lab", "jupyter-notebook", "jupyter-nbconvert", "jupyter"].flatMap(inPath);
  return {
    name: "Jupyter",
    state: found.length ? "there" : "missing",
    required: false,
    words: found.length
      ? found.join(", ")
      : "no Jupyter in the path; run and publish work without, and editors with notebooks of their own do too",
    hint: found.length ? null : "install JupyterLab or Jupyter Notebook to edit notebooks in a browser",
  };
}

function browser(): DoctorItem {
  const given = process.env["FAIRPULL_BROWSER"];
  const found = given !== undefined ? [given].filter(existsSync) : BROWSERS.flatMap(inPath);
  return {
    name: "Chromium",
    state: found.length ? "there" : "missing",
    required: false,
    words: found[0] ?? "no Chromium in the path; only tests of pages need one",
    hint: found.length ? null : "install Chromium, or name it in FAIRPULL_BROWSER",
  };
}

function inPath(program: string): string[] {
  const names = process.platform === "win32" ? [`${program}.exe`, `${program}.cmd`] : [program];
  const folders = (process.env["PATH"] ?? "").split(path.delimiter);
  const file = folders
    .flatMap(folder => names.map(name => path.join(folder, name)))
    .find(candidate => existsSync(candidate));
  return file === undefined ? [] : [file];
}

/** `fairpull doctor`. */
export function registerDoctor(program: Command, io: CommandIO): void {
  program
    .command("doctor")
    .description("say what of Node, kernel, Jupyter and Chromium is there, and what is missing")
    .option("--json", "print one JSON document")
    .action((options: {json?: boolean}) => {
      const document = examine();
      if (document.items.some(item => item.required && item.state !== "there")) io.exitCode = 1;
      if (options.json) {
        io.stdout.write(documentText(document));
        return;
      }
      for (const {name, state, words, hint} of document.items) {
        io.stdout.write(`${state.padEnd(7)}  ${name}: ${words}${hint === null ? "" : `; ${hint}`}\n`);
      }
    });
}
