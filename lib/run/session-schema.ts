import {z} from "zod";
import {coastdownSchema} from "./coastdown-schema.ts";
import {above, quantity, text} from "./quantity-schema.ts";

/** Keys that later versions will read; a session that has one needs a newer library. */
export const RESERVED_TOP = ["template"] as const;
export const RESERVED_RUN = ["air", "wind", "settling"] as const;

/** Measures that a session can be about. */
const PRIMARIES = ["band-time", "corrected-band-time", "band-power"] as const;

/** What stands for an arm while its name is sealed. */
const LETTERS = ["A", "B"] as const;

/** Kinds of test that later versions will read. */
const LATER_TESTS = ["meter"];
/** Kinds of test that have a reader of their own. */
export const OTHER_TESTS: Readonly<Record<string, string>> = {
  channels: "readChannelSession",
  coastdown: "readCoastdownSession",
  repeatability: "readRepeatabilitySession",
};

const positive = z.number().positive();

const conditions = z.strictObject({
  airTemperature: quantity("temperature").optional(),
  intakeTemperature: quantity("temperature").optional(),
  coolant: quantity("temperature").optional(),
  fuel: quantity("volume").optional(),
  occupants: z.int().min(0).max(20).optional(),
  tyrePressure: quantity("pressure").optional(),
  wind: quantity("speed").optional(),
});

/** How logs are read that do not tell it themselves; of a run where its log differs from the others. */
const reading = {
  rate: above(quantity("frequency"), "rate"),
  group: text.optional(),
  maxGap: above(quantity("time"), "maxGap"),
};

const arm = z.enum(["baseline", "changed"]);

const run = z.strictObject({
  file: text,
  from: quantity("time").optional(),
  to: quantity("time").optional(),
  arm: z.enum(["baseline", "changed", ...LETTERS], {
    error: issue =>
      issue.input === null
        ? "is left to fill in: baseline or changed"
        : "must be baseline or changed, or in a sealed test A or B",
  }),
  block: z.int().min(1).optional(),
  direction: z.enum(["out", "back"]).optional(),
  gear: z.int().min(1).max(12).optional(),
  at: text.optional(),
  refitted: z.boolean().optional(),
  note: text.optional(),
  traffic: text.optional(),
  guess: z.enum(["baseline", "changed", ...LETTERS]).optional(),
  exclude: text.optional(),
  excludedBefore: z.enum(["result known", "not known"]).optional(),
  conditions: conditions.optional(),
  ...reading,
});

const sha256 = z.string().regex(/^sha256:[0-9a-f]{64}$/, 'must be "sha256:" and 64 hexadecimal digits');

const seal = z
  .strictObject({
    commitment: sha256,
    letters: z.strictObject({A: arm, B: arm}).optional(),
    salt: z
      .string()
      .regex(/^[0-9a-f]{64}$/, "must be 64 hexadecimal digits")
      .optional(),
    opened: sha256.optional(),
  })
  .refine(({letters}) => letters === undefined || letters.A !== letters.B, {
    path: ["letters"],
    message: "both letters stand for one arm",
  });

/** The session file, version 1, as it is written. */
export const sessionSchema = z.strictObject({
  fairpull: z.literal(1, {error: "must be 1, the version of the session file that this library reads"}),
  test: z.literal("comparison", {
    error: ({input}) => later("test", input, LATER_TESTS, "comparison, repeatability, coastdown, channels"),
  }),
  question: text,
  primary: z.enum(PRIMARIES, {
    error: issue => later("primary", issue.input, [], PRIMARIES.join(", ")),
  }),
  worthwhile: z.union([text, z.number().transform(String)]),
  band: z.strictObject({
    from: quantity("speed"),
    to: quantity("speed"),
    gear: z.int().min(1).max(12).optional(),
  }),
  arms: z.strictObject({baseline: text, changed: text}),
  plan: z
    .strictObject({
      order: z.enum(["complete", "pairs", "abba", "blocks-of-4", "drift-balanced"]),
      runs: z.int().min(2).max(1000).optional(),
      seed: z.int().min(0).optional(),
      looks: z.int().min(1).max(5).optional(),
      unit: z.enum(["run", "fitting"]).optional(),
      ways: z.enum(["one", "both"]).optional(),
      mostChanges: z.int().min(1).optional(),
      refit: z.boolean().optional(),
      fixed: z.record(z.string(), z.unknown()).optional(),
      locked: sha256.optional(),
    })
    .refine(plan => (plan.looks ?? 1) === 1 || plan.runs !== undefined, {
      path: ["looks"],
      message: "several looks need the number of planned runs; give runs as well",
    })
    .optional(),
  road: z
    .strictObject({access: z.enum(["closed", "public"]), limit: quantity("speed").optional()})
    .optional(),
  vehicle: z
    .strictObject({
      mass: quantity("mass").optional(),
      massUncertainty: quantity("mass").optional(),
      dragArea: quantity("area").optional(),
      rollingCoefficient: positive.optional(),
      rotatingMassFactor: z.number().min(1).optional(),
    })
    .optional(),
  air: z
    .strictObject({
      temperature: quantity("temperature").optional(),
      pressure: quantity("pressure").optional(),
      seaLevelPressure: quantity("pressure").optional(),
      height: quantity("length").optional(),
      humidity: z
        .number()
        .min(0)
        .max(1, {error: issue => `${issue.input} is no humidity; 55 % is written 0.55`})
        .optional(),
      dewPoint: quantity("temperature").optional(),
    })
    .optional(),
  wind: z.strictObject({headwindOut: quantity("speed"), uncertainty: quantity("speed")}).optional(),
  columns: z.record(z.string(), z.union([text, z.int().min(1).transform(String)])).optional(),
  ...reading,
  seed: z.int().min(0).optional(),
  level: z.number().min(0.5).max(0.999).optional(),
  seal: seal.optional(),
  runs: z.array(run).nullish(),
});

export type SessionFile = z.output<typeof sessionSchema>;

function later(key: string, found: unknown, laterWords: string[], now: string): string {
  const written = typeof found === "string" ? found : JSON.stringify(found);
  if (found === undefined) return `is missing; this library reads ${key}: ${now}`;
  return laterWords.includes(String(found))
    ? `"${written}" needs a later version of fairpull; this one reads ${key}: ${now}`
    : `"${written}" is not known; this library reads ${key}: ${now}`;
}

/** The session file of `test: repeatability`, as it is written: no arms, no plan, runs without labels. */
const repeatabilitySchema = sessionSchema.omit({arms: true, plan: true, seal: true}).extend({
  test: z.literal("repeatability"),
  car: text.optional(),
  worthwhile: sessionSchema.shape.worthwhile.optional(),
  runs: z.array(run.omit({arm: true, block: true, refitted: true, guess: true})).nullish(),
});

/** "0.6 %" as a share. */
const share = z.string({error: "must be a share in %"}).transform((written, context) => {
  const match = /^([0-9.]+)\s*%$/.exec(written.trim());
  const value = match ? Number(match[1]) / 100 : Number.NaN;
  if (value > 0) return value;
  context.addIssue({code: "custom", message: `"${written}" is no share above 0 %`});
  return z.NEVER;
});

const engine = z.strictObject({
  file: text.optional(),
  knockSign: z.enum(["pulled negative", "pulled positive"]).optional(),
  slope: share.optional(),
  slopeUncertainty: share.optional(),
});
const primaryChannel = z.strictObject(
  {channel: text},
  {error: issue => (issue.input === undefined ? "is missing" : undefined)},
);
const channelAxis = z.enum(["engine-speed", "speed"]);

/** Keys of a session of `test: channels` that a comparison does not have, among the others. */
export const channelKeys = z.looseObject({
  primary: primaryChannel,
  axis: channelAxis.optional(),
  engine: engine.optional(),
  runs: z.array(z.looseObject({engine: text.optional()})).nullish(),
});

/** The session file of `test: channels`, as it is written. */
const channelSchema = sessionSchema.omit({worthwhile: true, seal: true}).extend({
  test: z.literal("channels"),
  primary: primaryChannel,
  axis: channelAxis.optional(),
  engine: engine.optional(),
  runs: z.array(run.extend({engine: text.optional()})).nullish(),
});

/** JSON Schema (draft 2020-12) of the session file, for editors: one of its kinds of test. */
export function sessionJsonSchema(): object {
  const kinds = [sessionSchema, repeatabilitySchema, channelSchema, coastdownSchema];
  return {
    title: "fairpull session file, version 1",
    $schema: "https://json-schema.org/draft/2020-12/schema",
    anyOf: kinds.map(kind => {
      const {$schema: _once, ...schema} = z.toJSONSchema(kind, {io: "input"});
      return schema;
    }),
  };
}
