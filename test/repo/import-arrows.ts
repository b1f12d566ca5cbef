import {posix} from "node:path";
import ts from "typescript";

const VALUES = ["units", "stats", "result", "series", "log", "run", "roadload", "trial", "channels", "meter"];
const JUDGES = [...VALUES, "judge"];
const SHOWS = [...JUDGES, "simulate", "figures", "tables"];
const ALL = [...SHOWS, "index.ts", "draw", "notebook", "kernel", "templates", "publish", "cli"];

/**
 * What a folder of lib/ may import beside itself. The arrows only ever point to what is simpler: values and models know no
 * figure, figures know no model, and only the command line knows everything.
 */
export const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  units: [],
  stats: [],
  result: [],
  series: ["units", "stats"],
  log: ["units", "stats", "series", "result"],
  run: ["units", "stats", "series", "result", "log"],
  roadload: ["units", "stats", "series", "result", "run"],
  trial: ["units", "stats", "result"],
  channels: ["units", "stats", "series", "result", "log", "run", "trial"],
  meter: ["units", "stats", "result"],
  judge: VALUES,
  simulate: JUDGES,
  figures: ["units", "result"],
  tables: ["units", "result", "figures"], // a table shows itself as a figure does
  "index.ts": SHOWS,
  draw: [],
  notebook: ["result"], // its errors are InputErrors too
  kernel: ["draw", "notebook", "result"],
  templates: ["notebook", "result", "units"], // units: how far a misspelt name is from a known one
  publish: ["kernel", "draw", "notebook", "result", "units"],
  cli: ALL,
};

/** Files that may import more than their folder: a published page is judged again and its checklist is computed; nothing else in publish/ is. */
const MAY_ALSO_IMPORT: Readonly<Record<string, readonly string[]>> = {
  "publish/verify.ts": ["judge"],
  "publish/recompute.ts": ["judge", "run", "figures", "tables"],
  "publish/report-of.ts": ["judge", "run"],
  "publish/rerun.ts": ["templates"],
};

/** Packages that one file or folder alone may import. */
const ONLY: Readonly<Record<string, readonly string[]>> = {
  jstat: ["stats/distributions.ts"], // the place where its accuracy is known and mended
  "danfojs-node": ["tables/", "kernel/"], // half a second to load, and an optional peer
};

export interface SourceFile {
  /** relative to lib/, with "/" */
  path: string;
  text: string;
}

const folderOf = (path: string): string => path.split("/")[0];

/** Every import of these files that the table does not have, in words, and every folder that the table does not have. */
export function arrowViolations(files: readonly SourceFile[]): string[] {
  return files.flatMap(({path, text}) => {
    const folder = folderOf(path);
    const allowed = MAY_IMPORT[folder];
    if (allowed === undefined) return [`${path}: ${folder} is not in the table of folders`];
    const may = new Set([folder, ...allowed, ...(MAY_ALSO_IMPORT[path] ?? [])]);
    return ts.preProcessFile(text, true, true).importedFiles.flatMap(({fileName}) => {
      if (!fileName.startsWith(".")) {
        const only = ONLY[fileName];
        return only === undefined || only.some(place => path.startsWith(place))
          ? []
          : [`${path} imports ${fileName}, which only ${only.join(" and ")} may`];
      }
      const target = posix.join(posix.dirname(path), fileName);
      if (target.startsWith("../")) return [`${path} imports ${fileName}, which is outside lib/`];
      return may.has(folderOf(target))
        ? []
        : [`${path} imports ${target}, but ${folder} may not import ${folderOf(target)}`];
    });
  });
}
