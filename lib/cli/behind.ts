import {InputError} from "../result/error.ts";
import {numbersThatChange} from "../templates/numbers-that-change.ts";
import {templateNamed} from "../templates/store.ts";
import {compareVersions, isVersion} from "../templates/version.ts";

/**
 * Whether a page was made from an older version of its template, in words for the index; null where it was not, or where this
 * installation does not know the template.
 *
 * @param options.templates folder of the templates, default that of this installation
 */
export function behindWords(
  {template}: {template: {name: string; version: string} | null},
  {templates}: {templates?: string} = {},
): string | null {
  if (template === null || !isVersion(template.version)) return null;
  try {
    const current = templateNamed(template.name, templates);
    if (compareVersions(template.version, current.version) >= 0) return null;
    const moved = numbersThatChange(current, template.version).filter(({words}) => !/^none\b/i.test(words));
    const numbers =
      moved.length === 0
        ? "no number changes"
        : `numbers change: ${moved.map(({version, words}) => `${words.replace(/\.$/, "")} (${version})`).join("; ")}`;
    return `Behind: made from ${template.name} ${template.version}, and ${current.version} is there; ${numbers}. fairpull upgrade carries the notebook over.`;
  } catch (error) {
    if (error instanceof InputError) return null; // made from a notebook that is not of this pack
    throw error;
  }
}
