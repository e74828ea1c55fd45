/**
 * The control core keeps to the library of ES5 without its floating-point part: the compiler lowers
 * syntax for the small engines, but not calls. Globals go by a list of what is allowed, so that
 * whatever is new is refused; methods of arrays and strings go by a list of what ES5 lacks. The
 * compiler checks the same with types (tsconfig.core.json); this rule says it while one writes.
 */

const GLOBALS_ALLOWED = [
  ...['undefined', 'arguments', 'isFinite', 'isNaN', 'parseInt'],
  ...['Array', 'Boolean', 'JSON', 'Number', 'Object', 'String'],
  ...['Error', 'RangeError', 'TypeError'],
];

/** What may be taken from the objects above by name; the rest came after ES5. */
const STATICS_ALLOWED = new Map([
  ['Array', ['isArray', 'prototype']],
  ['Number', ['prototype', 'NaN', 'MAX_VALUE']],
  ['String', ['fromCharCode', 'prototype']],
  [
    'Object',
    [
      ...['create', 'freeze', 'isFrozen', 'seal', 'keys', 'prototype', 'defineProperty'],
      ...['getOwnPropertyNames', 'getPrototypeOf', 'hasOwnProperty'],
    ],
  ],
]);

/** Methods of arrays and strings that ES5 lacks. */
const METHODS_NEWER = [
  ...['at', 'copyWithin', 'entries', 'fill', 'find', 'findIndex', 'findLast', 'findLastIndex'],
  ...['flat', 'flatMap', 'includes', 'keys', 'values', 'with'],
  ...['toReversed', 'toSorted', 'toSpliced'],
  ...['codePointAt', 'endsWith', 'matchAll', 'normalize', 'padEnd', 'padStart', 'repeat'],
  ...['replaceAll', 'startsWith', 'trimEnd', 'trimStart'],
];

/** @type {import('eslint').Rule.RuleModule} */
export const smallLibrary = {
  meta: {
    type: 'problem',
    docs: { description: 'the core uses only what the library of ES5 has, and no floats or dates' },
    messages: {
      global: "The core may not use '{{name}}': small engines lack it, or it needs floats or time.",
      method: "'{{name}}' is newer than ES5; library calls are not lowered. Write the loop.",
      syntax: '{{what}} needs a library newer than ES5.',
    },
    schema: [],
  },
  create(context) {
    /** @param {import('./where.js').Node} reference */
    function judgeGlobal(reference) {
      const { name } = reference.identifier;
      if (reference.isValueReference === false || GLOBALS_ALLOWED.includes(name)) return;
      context.report({ node: reference.identifier, messageId: 'global', data: { name } });
    }

    /** @param {import('./where.js').Node} node */
    function judgeMember(node) {
      const name = node.computed ? node.property.value : node.property.name;
      if (typeof name !== 'string') return;
      const owner = node.object.type === 'Identifier' ? node.object.name : undefined;
      const statics = STATICS_ALLOWED.get(owner);
      if (statics) {
        if (statics.includes(name)) return;
        const data = { name: `${owner}.${name}` };
        return context.report({ node: node.property, messageId: 'method', data });
      }
      const isCalled = node.parent.type === 'CallExpression' && node.parent.callee === node;
      if (!isCalled || !METHODS_NEWER.includes(name)) return;
      context.report({ node: node.property, messageId: 'method', data: { name } });
    }

    /** @param {import('./where.js').Node} node */
    function judgeFunction(node) {
      if (!node.async && !node.generator) return;
      const what = node.async ? 'An async function' : 'A generator';
      context.report({ node, messageId: 'syntax', data: { what } });
    }

    return {
      'Program:exit'() {
        const scope = context.sourceCode.scopeManager.globalScope;
        if (!scope) return;
        for (const reference of scope.through) judgeGlobal(reference);
        // Names the parser knows from the library: variables of the global scope nobody declared.
        for (const variable of scope.variables) {
          if (variable.defs.length === 0) variable.references.forEach(judgeGlobal);
        }
      },
      MemberExpression: judgeMember,
      FunctionDeclaration: judgeFunction,
      FunctionExpression: judgeFunction,
      ArrowFunctionExpression: judgeFunction,
      /** @param {import('./where.js').Node} node */
      Literal(node) {
        const what = node.regex ? 'This flag of a regular expression' : 'A big integer';
        if (!/[dsuvy]/.test(node.regex?.flags ?? '') && node.bigint === undefined) return;
        context.report({ node, messageId: 'syntax', data: { what } });
      },
    };
  },
};
