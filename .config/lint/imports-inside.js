/**
 * The control core imports nothing from outside `controller/`: no package, no module of Node, no
 * file of the host. Reading down `controller/tick/` is reading the data flow, so that a stage
 * imports only stages with a lower number, and never core.ts, which calls them all. Types are free:
 * a stage may read what a later one left in the last tick.
 */
import path from 'node:path';
import { filePath } from './where.js';

const STAGE = /^controller\/tick\/(\d+)-/;
const CORE = 'controller/core.js';

/**
 * True if an import or export brings types only.
 * @param {import('./where.js').Node} node
 * @returns {boolean}
 */
function isTypeOnly(node) {
  if (node.type === 'TSImportType') return true;
  if (node.importKind === 'type' || node.exportKind === 'type') return true;
  const kinds = (node.specifiers ?? []).map(
    (/** @type {import('./where.js').Node} */ specifier) =>
      specifier.importKind ?? specifier.exportKind,
  );
  return kinds.length > 0 && kinds.every((/** @type {string} */ kind) => kind === 'type');
}

/** @type {import('eslint').Rule.RuleModule} */
export const importsInside = {
  meta: {
    type: 'problem',
    docs: { description: 'controller/ imports only from controller/, a stage only lower stages' },
    messages: {
      outside: "'{{source}}' is outside controller/; the core imports nothing from there.",
      computed: 'The core imports only files named by a plain text.',
      order: "Stage {{own}} imports '{{source}}'; a stage imports only stages with a lower number.",
    },
    schema: [],
  },
  create(context) {
    const file = filePath(context);
    const ownStage = STAGE.exec(file)?.[1];

    /**
     * @param {import('./where.js').Node} node
     * @param {import('./where.js').Node} sourceNode
     */
    function judge(node, sourceNode) {
      const source = sourceNode?.value;
      if (typeof source !== 'string') return context.report({ node, messageId: 'computed' });
      const target = path.posix.join(path.posix.dirname(file), source);
      if (!/^\.\.?\//.test(source) || !target.startsWith('controller/')) {
        return context.report({ node, messageId: 'outside', data: { source } });
      }
      if (!ownStage || isTypeOnly(node)) return;
      const stage = STAGE.exec(target)?.[1];
      if (target === CORE || (stage && Number(stage) >= Number(ownStage))) {
        context.report({ node, messageId: 'order', data: { own: ownStage, source } });
      }
    }

    /** @param {import('./where.js').Node} node */
    const judgeDeclaration = (node) => {
      if (node.source) judge(node, node.source);
    };
    return {
      ImportDeclaration: judgeDeclaration,
      ExportAllDeclaration: judgeDeclaration,
      ExportNamedDeclaration: judgeDeclaration,
      ImportExpression: (node) => judge(node, node.source),
      /** @param {import('./where.js').Node} node `import x = require('y')` */
      TSExternalModuleReference: (node) => judge(node, node.expression),
      /** @param {import('./where.js').Node} node `import('y').Type` */
      TSImportType: (node) => judge(node, node.source),
      "CallExpression[callee.name='require']": (/** @type {import('./where.js').Node} */ node) =>
        judge(node, node.arguments[0]),
    };
  },
};
