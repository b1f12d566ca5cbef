import {z} from "zod";
import type {PlanDocument} from "../plan-document.ts";
import {errorWordsSchema} from "./common.ts";

const order = z.enum(["complete", "pairs", "abba", "blocks-of-4", "drift-balanced"]);
const hash = z.string().regex(/^sha256:[0-9a-f]{64}$/);

/** What `fairpull plan --json` prints. */
export const planSchema = z.strictObject({
  format: z.literal("fairpull.plan/1"),
  session: z.string(),
  question: z.string().nullable(),
  plan: z
    .strictObject({
      order,
      runs: z.int().min(2),
      seed: z.int().min(0).nullable(),
      looks: z.int().min(1),
      ways: z.enum(["one", "both"]),
      refit: z.boolean(),
      most_changes: z.int().min(1).nullable(),
      locked: hash.nullable(),
      schedule: z.array(
        z.strictObject({run: z.int().min(1), arm: z.string(), direction: z.enum(["out", "back"])}),
      ),
      changes: z.int().min(0),
    })
    .nullable(),
  choices: z.array(
    z.strictObject({
      order,
      runs: z.int().min(2),
      orders: z.number().min(0).nullable(),
      floor: z.number().gt(0).max(1).nullable(),
      shows: z.number().gt(0).nullable(),
      problem: z.string().nullable(),
    }),
  ),
  spread: z.strictObject({value: z.number().gt(0), unit: z.string(), source: z.string()}).nullable(),
  power: z
    .strictObject({
      chance: z.number().gt(0).lt(1),
      level: z.number().gt(0).lt(1),
      shows: z.number().gt(0).nullable(),
      unit: z.string(),
      worthwhile: z.number().gt(0).nullable(),
      runs_needed: z.int().min(2).nullable(),
      words: z.string(),
    })
    .nullable(),
  budget: z.array(
    z.strictObject({what: z.string(), value: z.number(), unit: z.string(), source: z.string()}),
  ),
  cautions: z.array(z.string()),
  seal: z.strictObject({commitment: hash, key: z.string().nullable()}).nullable(),
  sheet: z.string().nullable(),
  written: z.boolean(),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<PlanDocument>;
