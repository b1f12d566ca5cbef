import {columnMeaning} from "../log/column-name.ts";
import type {KnockSign} from "../result/channel-session.ts";
import type {Channel} from "../result/log.ts";

/** "cyl 3", "Cylinder_3", "Zyl. 3" in a header, where it is no part of a longer word. */
const CYLINDER = /[\s_([-]*(?<![a-z])(?:cyl(?:inder)?|zyl(?:inder)?)\.?[\s_#-]*(\d{1,2})(?!\d)[)\]]?/i;

/**
 * Channels as they are compared: corrections for knock with pulled spark negative whatever the log's convention, and quantities
 * that are logged by cylinder kept one by one with their mean under the name of the quantity; for the knock correction also the worst cylinder.
 *
 * Without a stated sign corrections for knock are left out: nobody can tell +3° pulled from +3° added.
 */
export function normalisedChannels(
  channels: readonly Channel[],
  {knockSign}: {knockSign: KnockSign | null},
): {channels: Channel[]; leftOut: {name: string; reason: string}[]} {
  const leftOut: {name: string; reason: string}[] = [];
  const signed = withCylinders(channels).flatMap((channel): Channel[] => {
    if (!channel.name.startsWith(KNOCK)) return [channel];
    if (knockSign === null) {
      leftOut.push({
        name: channel.name,
        reason:
          "the session does not say whether pulled spark is logged as negative or positive (engine: {knockSign: …})",
      });
      return [];
    }
    if (knockSign === "pulled negative") return [channel];
    return [{...channel, values: channel.values.map(value => (value === 0 ? 0 : -value))}];
  });
  const knock = signed.filter(({name}) => name.startsWith(`${KNOCK}-cylinder-`));
  if (knock.length > 1) {
    const worst = combined(knock, values => Math.min(...values));
    signed.push({...worst, name: `${KNOCK}-worst`, column: `worst of ${knock.length} cylinders`});
  }
  return {channels: signed, leftOut};
}

const KNOCK = "knock-correction";

/** Columns by cylinder under names of their own, and their mean where nothing else has the name of the quantity. */
function withCylinders(channels: readonly Channel[]): Channel[] {
  const groups = new Map<string, Channel[]>();
  const named = channels.map((channel): Channel => {
    const found = CYLINDER.exec(channel.column);
    if (!found || channel.kind !== "number") return channel;
    const {quantity, unit} = columnMeaning(channel.column.replace(CYLINDER, " "), channel.unit);
    if (!quantity || (unit && unit.dimension !== quantity.dimension)) return channel;
    const own = {...channel, name: `${quantity.name}-cylinder-${Number(found[1])}`};
    groups.set(quantity.name, [...(groups.get(quantity.name) ?? []), own]);
    return own;
  });
  const means = [...groups].flatMap(([name, members]): Channel[] => {
    const isAlone = members.length < 2 || named.some(channel => channel.name === name);
    if (isAlone || new Set(members.map(({valueUnit}) => valueUnit)).size > 1) return [];
    const mean = combined(members, values => values.reduce((sum, value) => sum + value, 0) / values.length);
    return [{...mean, name, column: `mean of ${members.length} cylinders`}];
  });
  return [...named, ...means];
}

/** One value a row from those of several channels; NaN where one of them has none. */
function combined(members: readonly Channel[], of: (values: number[]) => number): Channel {
  const [first] = members;
  const values = Float64Array.from(first.values, (_, i) => {
    const row = members.map(channel => channel.values[i]);
    return row.every(Number.isFinite) ? of(row) : Number.NaN;
  });
  return {...first, values, valid: values.filter(Number.isFinite).length};
}
