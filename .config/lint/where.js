/**
 * Where a node stands, for the rules of this folder: which file of the control core it is in, and
 * whether it runs inside a tick. A file is named by its path from the repository's root. A function
 * counts by its outermost function, so that a helper inside `makeState` is set-up as well.
 */
import path from 'node:path';

/** @typedef {any} Node A node of ESTree or of its TypeScript extension. */
/** @typedef {import('eslint').Rule.RuleContext} Context */

const FUNCTIONS = ['FunctionDeclaration', 'FunctionExpression', 'ArrowFunctionExpression'];

/** Functions that run when the controller is set up, not in a tick; they may allocate. */
const SET_UP_NAME = /^(make|compile|check)(?![a-z])/;
const TICK_NAME = /^(tick|seal)(?![a-z])/;

/** Files outside `controller/tick/` whose functions a tick calls. */
const TICK_FILES = [
  'controller/events.ts',
  'controller/integer.ts',
  'controller/self-check.ts',
  'controller/wet-bulb.ts',
];

/**
 * The file's path from the repository's root, with forward slashes.
 * @param {Context} context
 * @returns {string}
 */
export function filePath(context) {
  const full = path.resolve(context.cwd, context.filename);
  return path.relative(context.cwd, full).split(path.sep).join('/');
}

/**
 * @param {Node} node
 * @returns {boolean}
 */
export function isFunction(node) {
  return FUNCTIONS.includes(node.type);
}

/**
 * The outermost function around a node (its parameters count as inside), or undefined at module
 * level.
 * @param {Node} node
 * @returns {Node | undefined}
 */
export function outermostFunction(node) {
  let outermost;
  for (let at = node.parent; at; at = at.parent) if (isFunction(at)) outermost = at;
  return outermost;
}

/**
 * The name a function goes by: its own, or that of the variable, property or method it is given to.
 * @param {Node} node
 * @returns {string | undefined}
 */
export function functionName(node) {
  if (node.id) return node.id.name;
  const { parent } = node;
  if (parent.type === 'VariableDeclarator') return parent.id.name;
  if (['Property', 'MethodDefinition', 'PropertyDefinition'].includes(parent.type)) {
    return parent.key.name ?? parent.key.value;
  }
  return undefined;
}

/**
 * @param {string} name
 * @returns {boolean}
 */
export function isSetUpName(name) {
  return SET_UP_NAME.test(name);
}

/**
 * True for a function that is called while the module loads: `TABLE.map((row) => ...)`.
 * @param {Node} node
 * @returns {boolean}
 */
function runsAtLoad(node) {
  return node.parent.type === 'CallExpression' || node.parent.type === 'NewExpression';
}

/**
 * True if an outermost function runs in a tick: any function of `controller/tick/`, and of the
 * files that its stages call, that is not named as set-up; and the `tick...` and `seal` functions
 * of `controller/core.ts`.
 * @param {string} file
 * @param {Node} outermost
 * @returns {boolean}
 */
function isTickFunction(file, outermost) {
  const name = functionName(outermost);
  if (file === 'controller/core.ts') return name !== undefined && TICK_NAME.test(name);
  if (!file.startsWith('controller/tick/') && !TICK_FILES.includes(file)) return false;
  if (name === undefined) return !runsAtLoad(outermost);
  return !isSetUpName(name);
}

/**
 * The tick function a node stands in, or undefined if it does not run in a tick.
 * @param {Context} context
 * @param {Node} node
 * @returns {Node | undefined}
 */
export function tickFunctionAround(context, node) {
  const outermost = outermostFunction(node);
  if (!outermost) return undefined;
  return isTickFunction(filePath(context), outermost) ? outermost : undefined;
}

/**
 * True if this very function is the outermost one of a tick.
 * @param {Context} context
 * @param {Node} node
 * @returns {boolean}
 */
export function isOutermostTickFunction(context, node) {
  return outermostFunction(node) === undefined && isTickFunction(filePath(context), node);
}
