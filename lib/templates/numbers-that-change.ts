import {existsSync, readFileSync} from "node:fs";
import {join} from "node:path";
import type {Template} from "./store.ts";
import {compareVersions, isVersion} from "./version.ts";

/** "Numbers that change" of one version, in words. */
export interface NumbersThatChange {
  version: string;
  words: string;
}

/**
 * What a template's change log says of numbers that move, for every version after `from`, oldest first.
 * Entries look like `## 1.1.0`, then `**Numbers that change:** …` up to a blank line.
 */
export function numbersThatChange({folder}: Template, from: string): NumbersThatChange[] {
  const file = join(folder, "CHANGELOG.md");
  if (!existsSync(file)) return [];
  return readFileSync(file, "utf8")
    .split(/^## /m)
    .slice(1)
    .flatMap(entry => {
      const version = entry.split("\n", 1)[0].trim();
      const words = /\*\*Numbers that change:\*\*\s*([\s\S]*?)(?:\n\s*\n|$)/.exec(entry)?.[1];
      if (!isVersion(version) || words === undefined || compareVersions(version, from) <= 0) return [];
      return [{version, words: words.replace(/\s+/g, " ").trim()}];
    })
    .sort((a, b) => compareVersions(a.version, b.version));
}
