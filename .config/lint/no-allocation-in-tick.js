/**
 * Nothing in a tick makes an object, and nothing in a tick throws. In a tick are the function bodies
 * of `controller/tick/` and of the `tick...` functions in controller/core.ts. Exempt are module
 * level (tables are filled once) and functions whose names begin with `make`, `compile` or `check`:
 * they run when the controller is set up, and what stands inside them does too; so that a tick calls
 * none of them, nor the library's own makers (`Array(3)`, `Object.keys`, `String(x)`).
 */
import { isFunction, isSetUpName, tickFunctionAround } from './where.js';

/** @type {Record<string, string>} */
const ALLOCATING = {
  ArrayExpression: 'An array literal',
  ArrayPattern: 'Destructuring',
  AwaitExpression: 'await',
  ClassDeclaration: 'A class',
  ClassExpression: 'A class',
  ForInStatement: 'for..in',
  ForOfStatement: 'for..of',
  NewExpression: 'new',
  ObjectExpression: 'An object literal',
  ObjectPattern: 'Destructuring',
  RestElement: 'A rest parameter',
  SpreadElement: 'Spread',
  TaggedTemplateExpression: 'A tagged template',
  TemplateLiteral: 'A template string',
  ThrowStatement: 'throw',
  TryStatement: 'try',
  YieldExpression: 'yield',
};

const METHODS = [
  ...['push', 'unshift', 'concat', 'slice', 'splice', 'map', 'filter', 'forEach', 'reduce', 'some'],
  ...['every', 'sort', 'join', 'split', 'substr', 'substring', 'charAt', 'toString', 'replace'],
  ...['apply', 'call', 'bind'],
];

/** What the library offers by these names makes something or converts something. */
const LIBRARY = /^(Array|Boolean|JSON|Number|Object|String|parseInt|(Range|Type)?Error)$/;

/** TypeScript's `TypeFlags.StringLike`, which this rule asks for without loading the compiler. */
const STRING_LIKE = 402653316;

/** @type {import('eslint').Rule.RuleModule} */
export const noAllocationInTick = {
  meta: {
    type: 'problem',
    docs: { description: 'no object, string, closure or exception is made in a tick' },
    messages: {
      allocates: "{{what}} in a tick: '{{name}}' may not allocate or throw.",
      method: "'.{{method}}()' in a tick: it allocates, or needs a closure.",
      setUp: "'{{called}}' is named as set-up and may allocate; a tick does not call it.",
    },
    schema: [],
  },
  create(context) {
    const services = context.sourceCode.parserServices;

    /** @param {import('./where.js').Node} node @param {string} what */
    function report(node, what) {
      const around = tickFunctionAround(context, node);
      if (!around) return;
      const name = around.id?.name ?? around.parent.id?.name ?? 'this function';
      context.report({ node, messageId: 'allocates', data: { what, name } });
    }

    /** @param {import('./where.js').Node} node @returns {boolean} */
    function isText(node) {
      if (node.type === 'Literal') return typeof node.value === 'string';
      if (node.type === 'TemplateLiteral') return true;
      if (!services?.program) return false;
      return (services.getTypeAtLocation(node).flags & STRING_LIKE) !== 0;
    }

    /** @type {Record<string, (node: import('./where.js').Node) => void>} */
    const listeners = {};
    for (const [type, what] of Object.entries(ALLOCATING)) {
      listeners[type] = (node) => report(node, what);
    }
    return {
      ...listeners,
      ':function'(/** @type {import('./where.js').Node} */ node) {
        if (isFunction(node)) report(node, 'A closure');
      },
      'Literal[regex]': (/** @type {import('./where.js').Node} */ node) =>
        report(node, 'A regular expression'),
      "Identifier[name='arguments']": (/** @type {import('./where.js').Node} */ node) =>
        report(node, 'arguments'),
      "BinaryExpression[operator='+']"(/** @type {import('./where.js').Node} */ node) {
        if (isText(node.left) || isText(node.right)) report(node, 'String concatenation');
      },
      "AssignmentExpression[operator='+=']"(/** @type {import('./where.js').Node} */ node) {
        if (isText(node.left) || isText(node.right)) report(node, 'String concatenation');
      },
      /** @param {import('./where.js').Node} node */
      Identifier(node) {
        const isOwner = node.parent.type === 'MemberExpression' && node.parent.object === node;
        const isCallee = node.parent.type === 'CallExpression' && node.parent.callee === node;
        if (LIBRARY.test(node.name) && (isOwner || isCallee)) report(node, node.name);
        if (!isCallee || !isSetUpName(node.name) || !tickFunctionAround(context, node)) return;
        context.report({ node, messageId: 'setUp', data: { called: node.name } });
      },
      'CallExpression > MemberExpression.callee'(/** @type {import('./where.js').Node} */ node) {
        const method = node.computed ? node.property.value : node.property.name;
        if (!METHODS.includes(method) || !tickFunctionAround(context, node)) return;
        context.report({ node: node.property, messageId: 'method', data: { method } });
      },
    };
  },
};
