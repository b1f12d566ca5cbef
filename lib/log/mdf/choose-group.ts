import {InputError} from "../../result/error.ts";
import type {Guess} from "../../result/log.ts";
import {columnMeaning} from "../column-name.ts";
import {damaged} from "../damaged.ts";
import type {MdfGroup} from "./groups.ts";

/** Channels of a group, and groups, that are named in a message. */
const NAMED_CHANNELS = 8;
const NAMED_GROUPS = 12;

/**
 * The group that becomes the table: the one that was asked for, else the only one, else the only one with a satellite
 * speed, else the only one with the car's own speed.
 *
 * @param wanted name of a group or its number counted from 1, or undefined
 * @throws {InputError} 1: no group with values, or several with a speed; 2: no such group; both list what there is
 */
export function chooseGroup(
  file: string,
  groups: MdfGroup[],
  wanted: string | undefined,
): {group: MdfGroup; guesses: Guess[]} {
  const filled = groups.filter(group => !group.variable && group.records > 0 && group.channels.length > 0);
  if (filled.length === 0) {
    throw damaged(file, "the file holds no records", "record again, or export the log with its data");
  }
  const tables = filled.filter(group => !group.busFrames);
  if (wanted !== undefined) return {group: groupNamed(file, filled, wanted), guesses: []};
  if (tables.length === 0) {
    throw new InputError(1, {
      code: "raw-bus-log",
      words: "the file holds raw frames of a bus, not yet values",
      file,
      hint: "decode it with the bus's description first, then give the result",
    });
  }
  if (tables.length === 1) return {group: tables[0], guesses: []};
  for (const quantity of ["speed", "vehicle-speed"]) {
    const having = tables.filter(group => hasQuantity(group, quantity));
    if (having.length > 1) break;
    if (having.length === 1) {
      const chosen = `"${having[0].name}", the only one with a ${quantity === "speed" ? "speed" : "speed of the car's own"}`;
      return {group: having[0], guesses: [{what: "group", chosen, confidence: "likely"}]};
    }
  }
  const speeds = tables.filter(group => hasQuantity(group, "speed") || hasQuantity(group, "vehicle-speed"));
  const example = speeds[0] ?? tables[0];
  throw new InputError(1, {
    code: "several-groups",
    words: `the file holds ${tables.length} tables, ${speeds.length === 0 ? "none" : speeds.length} of them with a speed: ${listOf(tables)}`,
    file,
    hint: `choose one with --group ${JSON.stringify(nameOf(example, tables))}`,
  });
}

function groupNamed(file: string, groups: MdfGroup[], wanted: string): MdfGroup {
  const name = wanted.trim();
  const named = groups.filter(group => group.name === name);
  const found = named.length === 1 ? named[0] : groups.find(group => String(group.number) === name);
  if (found) return found;
  throw new InputError(2, {
    code: named.length > 1 ? "several-groups" : "no-such-group",
    words: `${named.length > 1 ? "several groups have" : "no group with records has"} the name "${name}"; there are ${listOf(groups)}`,
    file,
    hint: "give one of these names or numbers with --group",
  });
}

/** What tells a group from the others: its name, or its number where others share the name. */
function nameOf(group: MdfGroup, groups: MdfGroup[]): string {
  const alone = groups.every(other => other === group || other.name !== group.name);
  return alone ? group.name : String(group.number);
}

function hasQuantity(group: MdfGroup, quantity: string): boolean {
  return group.channels.some(({name, unit}) => columnMeaning(name, unit).quantity?.name === quantity);
}

function listOf(groups: MdfGroup[]): string {
  const listed = groups.slice(0, NAMED_GROUPS).map(({number, name, records, channels}) => {
    const names = channels.slice(0, NAMED_CHANNELS).map(channel => channel.name);
    return `${number} "${name}" (${records} rows: ${names.join(", ")}${more(channels.length - names.length)})`;
  });
  return listed.join("; ") + more(groups.length - listed.length);
}

function more(count: number): string {
  return count > 0 ? `, and ${count} more` : "";
}
