/**
 * An exported function has a doc comment directly above it. What the comment must say (shapes,
 * units, errors, source) a reader judges; that it is there, this rule does. The functions may be
 * exported where they stand or by name further down.
 */

/**
 * @param {import('./where.js').Node} node
 * @returns {boolean}
 */
function isFunctionVariable(node) {
  const type = node.init?.type;
  return type === 'ArrowFunctionExpression' || type === 'FunctionExpression';
}

/** @type {import('eslint').Rule.RuleModule} */
export const documentedExports = {
  meta: {
    type: 'suggestion',
    docs: { description: 'exported functions have a doc comment' },
    messages: { missing: "'{{name}}' is exported; say above it, in a /** comment, what it does." },
    schema: [],
  },
  create(context) {
    /** @type {Map<string, import('./where.js').Node>} */
    const statements = new Map();
    /** @type {Set<string>} */
    const exported = new Set();

    /** @param {import('./where.js').Node} declaration @returns {string[]} */
    function functionNames(declaration) {
      if (!declaration) return [];
      if (/^(FunctionDeclaration|TSDeclareFunction)$/.test(declaration.type)) {
        return [declaration.id.name];
      }
      if (declaration.type !== 'VariableDeclaration') return [];
      return declaration.declarations
        .filter(isFunctionVariable)
        .map((/** @type {import('./where.js').Node} */ variable) => variable.id.name);
    }

    /** @param {import('./where.js').Node} statement @returns {boolean} */
    function isDocumented(statement) {
      const comment = context.sourceCode.getCommentsBefore(statement).at(-1);
      return comment?.type === 'Block' && comment.value.startsWith('*');
    }

    return {
      'Program > *'(/** @type {import('./where.js').Node} */ node) {
        const isExport = node.type === 'ExportNamedDeclaration';
        for (const name of functionNames(isExport ? node.declaration : node)) {
          // Of several overloads the first carries the comment.
          if (!statements.has(name)) statements.set(name, node);
          if (isExport) exported.add(name);
        }
        if (!isExport || node.source) return;
        for (const specifier of node.specifiers) exported.add(specifier.local.name);
      },
      'Program:exit'() {
        for (const [name, node] of statements) {
          if (!exported.has(name) || isDocumented(node)) continue;
          context.report({ node, messageId: 'missing', data: { name } });
        }
      },
    };
  },
};
