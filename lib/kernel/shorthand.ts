/** What is used of a node of TypeScript's syntax tree. */
interface Node {
  name: Node;
  text: string;
  objectAssignmentInitializer?: Node;
}

interface Context {
  factory: {
    createIdentifier(text: string): Node;
    createPropertyAccessExpression(of: Node, name: Node): Node;
    createPropertyAssignment(name: Node, value: Node): Node;
  };
}

/** The parts of TypeScript that are needed here. */
export interface SyntaxTools {
  isShorthandPropertyAssignment(node: Node): boolean;
  visitEachChild(node: Node, visit: (node: Node) => Node, context: Context): Node;
}

export interface ValueFinder {
  getShorthandAssignmentValueSymbol(
    node: Node,
  ): {declarations?: {getSourceFile(): {fileName: string}}[]} | undefined;
}

/**
 * A step of the compiler that writes `{word}` as `{word: exports.word}` where `word` is a variable of an earlier cell.
 * tslab rewrites the names of such variables, but takes this one for the name of the property alone.
 *
 * @param isPrevious true for the file of the declarations of earlier cells
 */
export function expandShorthand(
  ts: SyntaxTools,
  checker: ValueFinder,
  isPrevious: (file: string) => boolean,
): (context: Context) => (file: Node) => Node {
  return context => {
    const {factory} = context;
    const visit = (node: Node): Node => {
      if (!ts.isShorthandPropertyAssignment(node) || node.objectAssignmentInitializer)
        return ts.visitEachChild(node, visit, context);
      const value = checker.getShorthandAssignmentValueSymbol(node);
      const isEarlier = value?.declarations?.some(declaration =>
        isPrevious(declaration.getSourceFile().fileName),
      );
      if (!isEarlier) return node;
      const access = factory.createPropertyAccessExpression(
        factory.createIdentifier("exports"),
        factory.createIdentifier(node.name.text),
      );
      return factory.createPropertyAssignment(node.name, access);
    };
    return file => ts.visitEachChild(file, visit, context);
  };
}
