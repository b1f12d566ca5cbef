import {z} from "zod";
import {quantity, text} from "./quantity-schema.ts";

/** The session file of a coastdown, version 1, as it is written. */
export const coastdownSchema = z.strictObject({
  fairpull: z.literal(1),
  test: z.literal("coastdown"),
  question: text,
  band: z.strictObject({from: quantity("speed"), to: quantity("speed")}),
  vehicle: z.strictObject(
    {mass: quantity("mass"), rotatingMassFactor: z.number().min(1).max(1.5).optional()},
    {
      error: issue =>
        issue.input === undefined
          ? "is missing; a force needs the car's mass: vehicle: {mass: 1390 kg}"
          : undefined,
    },
  ),
  air: z
    .strictObject({
      temperature: quantity("temperature").optional(),
      pressure: quantity("pressure").optional(),
      seaLevelPressure: quantity("pressure").optional(),
      height: quantity("length").optional(),
      humidity: z.number().min(0).max(1, "is no humidity; 55 % is written 0.55").optional(),
      dewPoint: quantity("temperature").optional(),
    })
    .optional(),
  warmUp: quantity("time").optional(),
  terms: z.union([z.literal(2), z.literal(3)]).optional(),
  wind: z
    .strictObject({headwindOut: quantity("speed"), uncertainty: quantity("speed").optional()})
    .optional(),
  columns: z.record(z.string(), z.union([text, z.int().min(1).transform(String)])).optional(),
  seed: z.int().min(0).optional(),
  level: z.number().min(0.5).max(0.999).optional(),
  runs: z
    .array(
      z.strictObject({
        file: text,
        from: quantity("time").optional(),
        to: quantity("time").optional(),
        direction: z.enum(["out", "back"]).optional(),
        exclude: text.optional(),
        note: text.optional(),
        at: text.optional(),
        conditions: z.strictObject({airTemperature: quantity("temperature").optional()}).optional(),
      }),
    )
    .min(2, "a coastdown needs at least 2 runs"),
});
