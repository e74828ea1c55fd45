/**
 * The control core computes with integers only: no `/`, `%` or `**` and no number with a fraction.
 * The one division is `divFloor` in controller/integer.ts, which says how it rounds. Module level
 * counts as well: a table computed with a float would differ between engines.
 */
import { filePath, functionName, outermostFunction } from './where.js';

const OPERATORS = ['/', '/=', '%', '%=', '**', '**='];

/** @type {import('eslint').Rule.RuleModule} */
export const integerArithmetic = {
  meta: {
    type: 'problem',
    docs: { description: 'no division, remainder, power or fraction outside divFloor' },
    messages: {
      operator: "'{{operator}}' leaves the integers; use divFloor of controller/integer.ts.",
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
        if (Number.isInteger(node.value) && !raw.includes('.')) return;
        context.report({ node, messageId: 'fraction', data: { raw } });
      },
    };
  },
};
