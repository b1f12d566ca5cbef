import assert from "node:assert/strict";
import {buildReason} from "../../lib/bin/prepare/build.mjs";
import {ROOT} from "./tracked-files.ts";

/** Fails in words where lib/dist is not the build of lib/: `npm test` builds first, `npx vitest` does not. */
export function requireBuild(): void {
  const reason = buildReason(ROOT);
  assert.equal(reason, null, `lib/dist does not belong to lib/ (${reason}); run: npm run build`);
}
