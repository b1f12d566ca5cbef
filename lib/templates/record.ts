import {isDeepStrictEqual} from "node:util";

type Json = Record<string, unknown>;

/** Merges metadata three ways, key by key: what the analyst changed, added or took out stays so, the rest is the template's. */
export function mergedRecord({base, template, mine}: {base: Json; template: Json; mine: Json}): Json {
  const result: Json = {};
  for (const key of new Set([...Object.keys(template), ...Object.keys(mine)])) {
    const isMine = !isDeepStrictEqual(base[key], mine[key]);
    const from = isMine ? mine : template;
    if (Object.hasOwn(from, key)) result[key] = from[key];
  }
  return result;
}
