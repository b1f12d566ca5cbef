import {createRandom} from "../../stats/random.ts";
import {sha256Text} from "../../trial/seal.ts";
import {type SimulatedDay, simulateDay} from "../day.ts";
import {type SealedSession, sealedSessionText} from "../files.ts";
import type {DayScenario} from "../scenario.ts";
import {scenarioNamed} from "../scenarios.ts";

/**
 * What the parts of eight tables do to power, dealt by lot among tables 1–8, again among 9–16, and so on. Half do nothing, so that
 * a class can count its false alarms; the others are larger, smaller and harmful.
 */
const DECK: readonly number[] = [0, 0, 0, 0, 0.03, 0.03, 0.015, -0.03];

/** What the tables test: invented parts, of which the name says nothing about the truth. */
const PARTS: readonly {part: string; standard: string}[] = [
  {part: "smooth elbow", standard: "ribbed hose"},
  {part: "reflecting sleeve", standard: "bare hose"},
  {part: "open airbox lid", standard: "closed airbox lid"},
  {part: "stiff engine mount", standard: "soft engine mount"},
  {part: "second earth strap", standard: "one earth strap"},
  {part: "large air filter", standard: "standard air filter"},
  {part: "straight rear silencer", standard: "standard rear silencer"},
  {part: "colder set of plugs", standard: "standard set of plugs"},
];

/** More tables than this do not fit into a room, or into two digits. */
export const MOST_TABLES = 99;

/** The sealed test day of one table, and its truth. */
export interface TableDay extends SealedSession {
  table: number;
  day: SimulatedDay;
}

/** The scenario of a table and the seed of its day, without driving it. */
export interface TableScenario {
  scenario: DayScenario;
  seed: number;
}

/**
 * The test day of a table: part, truth, letters and order by lot from the evening's seed and the table's number alone, so that any
 * table can be made by itself, on any machine, and comes out the same.
 *
 * @param evening.seed  whole number ≥ 0; who knows it can compute every truth
 * @param evening.table 1 … 99
 * @throws {RangeError} the table is no whole number from 1 to 99, or the seed none ≥ 0
 */
export function tableDay(evening: {seed: number; table: number}): TableDay {
  const {scenario, seed} = tableScenario(evening);
  const day = simulateDay(scenario, seed);
  const salt = sha256Text(`fairpull workshop salt/${evening.seed}/${evening.table}`).slice("sha256:".length);
  return {table: evening.table, day, ...sealedSessionText(day, salt)};
}

/** Part, truth, letters and seed of a table, as `tableDay` drives them. */
export function tableScenario({seed, table}: {seed: number; table: number}): TableScenario {
  if (!(Number.isInteger(table) && table >= 1 && table <= MOST_TABLES))
    throw new RangeError(`tableScenario: tables are numbered 1 to ${MOST_TABLES}, but this is ${table}`);
  const place = (table - 1) % DECK.length;
  const round = (table - 1 - place) / DECK.length;
  const powers = [...DECK];
  createRandom(seed, `workshop truths ${round}`).shuffle(powers);
  const parts = [...PARTS];
  createRandom(seed, `workshop parts ${round}`).shuffle(parts);
  const own = createRandom(seed, `workshop table ${table}`);
  return {
    scenario: scenarioOf(table, {
      ...parts[place],
      power: powers[place],
      lettersSwapped: own.integer(2) === 1,
    }),
    seed: own.integer(2 ** 31),
  };
}

interface Drawn {
  part: string;
  standard: string;
  power: number;
  lettersSwapped: boolean;
}

/** One scenario for the same draw, since what is known of a scenario (its true effect) is kept with it. */
const MADE = new Map<string, DayScenario>();

function scenarioOf(table: number, drawn: Drawn): DayScenario {
  const name = `${table}/${JSON.stringify(drawn)}`;
  const known = MADE.get(name);
  if (known) return known;
  const like = scenarioNamed("intake-elbow")!;
  const made: DayScenario = {
    ...like,
    name: "workshop",
    words: "the test day of a table at a workshop",
    question: `Table ${table}: does the ${drawn.part} shorten the 60–110 km/h pull?`,
    arms: {baseline: drawn.standard, changed: drawn.part},
    part: {power: drawn.power, massKg: 0, dragAreaM2: 0},
    lettersSwapped: drawn.lettersSwapped,
  };
  MADE.set(name, made);
  return made;
}
