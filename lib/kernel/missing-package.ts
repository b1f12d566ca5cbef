/** What to do about a package that an import names and nobody finds. */
export function missingPackage(id: string): string {
  const name = /^(@[^/]+\/)?[^/]+/.exec(id)![0];
  return `cannot find the package "${id}"; to install it run, in the notebook's folder: npm install ${name}`;
}
