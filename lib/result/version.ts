/** Version of this library; a test holds it equal to `lib/package.json`. */
export const VERSION = "0.1.0";
