/**
 * A tick ends within a time that can be stated: no recursion, no `while`, and every `for` compares
 * with something constant: a literal, an UPPER_CASE constant, a member of a `const enum`
 * (`Input.All`), a `.length`, or a count given by name. What counts as a tick is said in
 * no-allocation-in-tick.js. Recursion is found within one file; across files the order of the
 * stages forbids it.
 */
import { functionName, isOutermostTickFunction, tickFunctionAround } from './where.js';

const COMPARISONS = ['<', '<=', '>', '>=', '!==', '==='];
const CONSTANT_NAME = /^([A-Z][A-Z0-9_]*|count|[a-z]\w*Count)$/;

/**
 * @param {import('./where.js').Node} node
 * @returns {boolean}
 */
function isConstantBound(node) {
  if (node.type === 'Literal') return typeof node.value === 'number';
  if (node.type === 'UnaryExpression') return isConstantBound(node.argument);
  if (node.type === 'Identifier') return CONSTANT_NAME.test(node.name);
  if (node.type !== 'MemberExpression' || node.computed) return false;
  const isEnumMember = node.object.type === 'Identifier' && /^[A-Z]\w*[a-z]/.test(node.object.name);
  const { name } = node.property;
  return isEnumMember || name === 'length' || CONSTANT_NAME.test(name);
}

/**
 * @param {import('./where.js').Node} test
 * @returns {boolean}
 */
function isBounded(test) {
  if (!test) return false;
  if (test.type === 'LogicalExpression' && test.operator === '&&') {
    return isBounded(test.left) || isBounded(test.right);
  }
  if (test.type !== 'BinaryExpression' || !COMPARISONS.includes(test.operator)) return false;
  return isConstantBound(test.right) || isConstantBound(test.left);
}

/**
 * True if `from` can reach itself along the calls of this file.
 * @param {Map<string, Set<string>>} calls
 * @param {string} from
 * @returns {boolean}
 */
function reachesItself(calls, from) {
  const seen = new Set();
  const pending = [...(calls.get(from) ?? [])];
  for (let name = pending.pop(); name !== undefined; name = pending.pop()) {
    if (name === from) return true;
    if (seen.has(name)) continue;
    seen.add(name);
    pending.push(...(calls.get(name) ?? []));
  }
  return false;
}

/** @type {import('eslint').Rule.RuleModule} */
export const boundedTick = {
  meta: {
    type: 'problem',
    docs: { description: 'in a tick no recursion, no while, and each loop has a constant bound' },
    messages: {
      loop: 'A tick has no while loop; write a for with a constant bound.',
      bound: 'This loop has no constant bound: compare with a literal, a constant or a length.',
      recursion: "'{{name}}' calls itself, directly or through others; a tick has no recursion.",
    },
    schema: [],
  },
  create(context) {
    /** @type {Map<string, Set<string>>} */
    const calls = new Map();
    /** @type {Map<string, import('./where.js').Node>} */
    const functions = new Map();

    /** @param {import('./where.js').Node} node */
    function judgeLoop(node) {
      if (tickFunctionAround(context, node)) context.report({ node, messageId: 'loop' });
    }

    return {
      WhileStatement: judgeLoop,
      DoWhileStatement: judgeLoop,
      ForStatement(node) {
        if (isBounded(node.test) || !tickFunctionAround(context, node)) return;
        context.report({ node, messageId: 'bound' });
      },
      ':function'(/** @type {import('./where.js').Node} */ node) {
        const name = functionName(node);
        if (name && isOutermostTickFunction(context, node)) functions.set(name, node);
      },
      /** @param {import('./where.js').Node} node */
      CallExpression(node) {
        const around = tickFunctionAround(context, node);
        const caller = around && functionName(around);
        const isOwn =
          node.callee.type === 'MemberExpression' && node.callee.object.type.startsWith('This');
        const callee = isOwn ? node.callee.property.name : node.callee.name;
        if (!caller || !callee) return;
        calls.set(caller, (calls.get(caller) ?? new Set()).add(callee));
      },
      'Program:exit'() {
        for (const [name, node] of functions) {
          if (reachesItself(calls, name)) {
            context.report({ node, messageId: 'recursion', data: { name } });
          }
        }
      },
    };
  },
};
