import {mkdtempSync, readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import type {ChannelSession} from "../../lib/result/channel-session.ts";
import {readChannelSession} from "../../lib/run/channel-session.ts";

export const DEMO_FOLDER = fileURLToPath(new URL("../../data-demo/heat-shield/", import.meta.url));
export const DEMO_SESSION = join(DEMO_FOLDER, "session.yaml");

/** Files of the demo day of channels by name, to be changed and written anew. */
export class MadeDay {
  readonly files = new Map<string, string>();

  /** what is true of the day, as JSON */
  readonly truth = readFileSync(join(DEMO_FOLDER, "truth.json"), "utf8");

  constructor() {
    const session = readFileSync(DEMO_SESSION, "utf8");
    for (const [, file, engine] of session.matchAll(/file: (run-\d+\.csv), engine: (\S+),/g))
      for (const name of [file, engine]) this.files.set(name, readFileSync(join(DEMO_FOLDER, name), "utf8"));
    this.files.set("session.yaml", session);
  }

  /** Changes the text of one file; fails where that changes nothing. */
  edit(name: string, change: (text: string) => string): this {
    const before = this.files.get(name)!;
    const after = change(before);
    if (after === before) throw new Error(`nothing changed in ${name}`);
    this.files.set(name, after);
    return this;
  }

  /** Changes the rows of an engine log: cells by header. */
  rows(run: number, change: (cells: Record<string, string>, row: number) => void): this {
    return this.edit(engineFile(run), text => {
      const [head, ...lines] = text.trimEnd().split("\n");
      const names = head.split(",");
      const changed = lines.map((line, row) => {
        const cells = Object.fromEntries(line.split(",").map((cell, c) => [names[c], cell]));
        change(cells, row);
        return Object.values(cells).join(",");
      });
      return `${[head, ...changed].join("\n")}\n`;
    });
  }

  /** Every engine log. */
  each(change: (text: string, run: number) => string): this {
    for (let run = 1; run <= 12; run++) this.edit(engineFile(run), text => change(text, run));
    return this;
  }

  write(): string {
    const folder = mkdtempSync(join(tmpdir(), "fairpull-channels-"));
    for (const [name, text] of this.files) writeFileSync(join(folder, name), text);
    return join(folder, "session.yaml");
  }

  session(): ChannelSession {
    return readChannelSession(this.write());
  }
}

export function engineFile(run: number): string {
  return `run-${String(run).padStart(2, "0")}-engine.csv`;
}

/** Takes a column out of delimited text. */
export function without(text: string, header: string): string {
  const lines = text
    .trimEnd()
    .split("\n")
    .map(line => line.split(","));
  const at = lines[0].indexOf(header);
  if (at < 0) throw new Error(`no column ${header}`);
  return `${lines.map(cells => cells.filter((_, c) => c !== at).join(",")).join("\n")}\n`;
}
