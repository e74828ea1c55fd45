/**
 * The control core computes with integers only: no `/`, `%` or `**`, no `>>>` (its result may take 32
 * bits), no number with a fraction and none beyond 31 bits. The one division is `divFloor` in
 * controller/integer.ts, which says how it rounds. Module level counts as well: a table computed with
 * a float would differ between engines.
 */
import { filePath, functionName, outermostFunction } from './where.js';

const OPERATORS = ['/', '/=', '%', '%=', '**', '**=', '>>>', '>>>='];

/** The first whole number that no longer fits into 31 bits. */
const TOO_WIDE = 2 ** 30;

/** @type {import('eslint').Rule.RuleModule} */
export const integerArithmetic = {
  meta: {
    type: 'problem',
    docs: { description: 'no division, remainder, power or fraction outside divFloor' },
    messages: {
      operator: "'{{operator}}' leaves the integers; use divFloor of controller/integer.ts.",
      wide: '{{raw}} does not fit into 31 bits; small engines would box it.',
      fraction: '{{raw}} is not written as an integer; use the smaller unit.',
    },
    schema: [],
  },
  create(context) {
    const hasDivFloor = filePath(context) === 'controller/integer.ts';

    /** @param {import('./where.js').Node} node */
    function isInDivFloor(node) {
      const around = outermostFunction(node);
      return hasDivFloor && around !== undefined && functionName(around) === 'divFloor';
    }

    /** @param {import('./where.js').Node} node */
    function judgeOperator(node) {
      const { operator } = node;
      if (!OPERATORS.includes(operator) || isInDivFloor(node)) return;
      context.report({ node, messageId: 'operator', data: { operator } });
    }

    return {
      BinaryExpression: judgeOperator,
      AssignmentExpression: judgeOperator,
      /** @param {import('./where.js').Node} node */
      Literal(node) {
        if (typeof node.value !== 'number') return;
        const { raw } = node;
        const isNegative = node.parent.type === 'UnaryExpression' && node.parent.operator === '-';
        const isWide = node.value > TOO_WIDE || (node.value === TOO_WIDE && !isNegative);
        if (isWide) context.report({ node, messageId: 'wide', data: { raw } });
        if (Number.isInteger(node.value) && !raw.includes('.')) return;
        context.report({ node, messageId: 'fraction', data: { raw } });
      },
    };
  },
};
