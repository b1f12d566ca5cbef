import {existsSync} from "node:fs";
import path from "node:path";

/** Programs that some tests need and that npm does not bring along. */
export type Tool = "browser" | "jupyter";

interface Found {
  /** absolute path of the program, or null */
  path: string | null;
  /** for the title of what is skipped without it */
  title: string;
}

const KNOWN: Record<Tool, {variable: string; names: string[]; hint: string}> = {
  browser: {
    variable: "FAIRPULL_BROWSER",
    names: ["chromium", "chromium-browser", "google-chrome", "chrome"],
    hint: "a Chromium in the path or in FAIRPULL_BROWSER",
  },
  jupyter: {
    variable: "FAIRPULL_NBCONVERT",
    names: ["jupyter-nbconvert"],
    hint: "jupyter-nbconvert in the path or in FAIRPULL_NBCONVERT",
  },
};

/**
 * Looks for a program. Where it is missing, its tests are skipped by name; but where the environment variable
 * FAIRPULL_REQUIRE lists it ("browser,jupyter"), its absence is a failure.
 */
export function requireTool(tool: Tool): Found {
  const {variable, names, hint} = KNOWN[tool];
  const given = process.env[variable];
  const folders = (process.env["PATH"] ?? "").split(path.delimiter);
  const found =
    given ?? names.flatMap(name => folders.map(folder => path.join(folder, name))).find(existsSync) ?? null;
  const isThere = found !== null && existsSync(found);
  if (!isThere && (process.env["FAIRPULL_REQUIRE"] ?? "").split(",").includes(tool)) {
    throw new Error(`FAIRPULL_REQUIRE asks for ${tool}, but it is not here; needed is ${hint}`);
  }
  return {path: isThere ? found : null, title: isThere ? "" : ` (skipped: needs ${hint})`};
}

/** Arguments with which every browser test starts its browser: nothing of its own goes to the network. */
export const BROWSER_ARGUMENTS = [
  "--headless",
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];
