import {z} from "zod";
import {channelsSchema} from "./channels.ts";
import {coastdownSchema} from "./coastdown.ts";
import {errorWordsSchema} from "./common.ts";
import {gatherSchema} from "./gather.ts";
import {inspectSchema} from "./inspect.ts";
import {judgeFailureSchema, judgeSchema} from "./judge.ts";
import {doctorSchema, kernelSchema} from "./kernel.ts";
import {publishSchema, runSchema} from "./notebook.ts";
import {planSchema} from "./plan.ts";
import {repeatabilitySchema} from "./repeatability.ts";
import {simulateSchema} from "./simulate.ts";
import {sliceSchema} from "./slice.ts";
import {newSchema, upgradeSchema} from "./templates.ts";
import {verifySchema} from "./verify.ts";
import {collectSchema, workshopSchema} from "./workshop.ts";

/** The document of each command, by the command's name. A new command is a new line. */
export const DOCUMENT_SCHEMAS = {
  collect: collectSchema,
  doctor: doctorSchema,
  gather: gatherSchema,
  inspect: inspectSchema,
  judge: judgeSchema,
  kernel: kernelSchema,
  new: newSchema,
  plan: planSchema,
  publish: publishSchema,
  run: runSchema,
  simulate: simulateSchema,
  slice: sliceSchema,
  verify: verifySchema,
  upgrade: upgradeSchema,
  workshop: workshopSchema,
} satisfies Record<string, z.ZodType>;

/** Documents of a command that has several. */
const PARTS_OF: Record<string, string> = {collect: "simulate collect", workshop: "simulate workshop"};

/** What a command prints when its words could not even be read: an option it does not have, a path left out. */
export function errorDocumentSchema(format: string) {
  return z.strictObject({format: z.literal(format), error: errorWordsSchema});
}

/** JSON Schema (draft 2020-12) of every command's document, by file name in `lib/schema/`. */
export function jsonSchemas(): Record<string, object> {
  const entries = Object.entries(DOCUMENT_SCHEMAS).map(([name, schema]) => {
    const failed = errorDocumentSchema(schema.shape.format.value);
    const either = z.union(
      name === "judge"
        ? [schema, coastdownSchema, repeatabilitySchema, channelsSchema, judgeFailureSchema, failed]
        : [schema, failed],
    );
    return [`${name}.json`, {title: `fairpull ${PARTS_OF[name] ?? name} --json`, ...z.toJSONSchema(either)}];
  });
  return Object.fromEntries(entries);
}
