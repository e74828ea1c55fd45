/**
 * A number that measures something carries its unit in its name: quantity, unit, qualifier, as in
 * `tankUl` and `burstMsMax`. Looked at are the numeric properties of interfaces and types, the
 * numeric parameters of functions and the numbers at module level; a local is as near to its unit as
 * the line that makes it. Only names with a word that means a quantity are
 * judged; flags, indexes and a few names that the whole project knows are listed below.
 */

import { outermostFunction } from './where.js';

/** The units of the core, as they end a name, and what is counted rather than measured. */
const UNITS = ['Ms', 'Us', 'Rpm', 'Hpa', 'Dc', 'Dkmh', 'Mv', 'Ul', 'Ulms', 'Ulps', 'Pm'];
const COUNTS = ['Code', 'Codes', 'Bit', 'Bits', 'Count', 'Index', 'Mask', 'Slots', 'Ticks'];

/** A record whose own name says the unit of all its fields: raw codes, as `Codes`. */
const RECORD_OF_CODES = /Codes$/;

/** What may follow the unit: a qualifier, or the fixed point of a fraction (`slopeDcQ16`). */
const QUALIFIER = /^(Max|Min|Low|High|First|Last|Before|After|Old|New|Sum|Step|Shift|Q\d+)$/;

/** Words that mean a quantity: a number so named says nothing without its unit. */
const QUANTITY_WORDS = [
  ...[
    'time',
    'age',
    'window',
    'hold',
    'held',
    'delay',
    'timeout',
    'period',
    'interval',
    'debounce',
  ],
  ...['duration', 'elapsed', 'since', 'burst', 'rest', 'temp', 'temperature', 'charge', 'ambient'],
  ...[
    'depression',
    'hysteresis',
    'freeze',
    'floor',
    'pressure',
    'boost',
    'manifold',
    'baro',
    'speed',
  ],
  ...[
    'volume',
    'tank',
    'reserve',
    'water',
    'flow',
    'voltage',
    'supply',
    'duty',
    'share',
    'humidity',
  ],
];

/** Whole names that need no unit: a flag, a choice, or a word with one meaning in this project. */
const KNOWN_NAMES = [
  ...['rpm', 'level', 'feedback', 'arm', 'stage', 'button', 'fresh', 'faults', 'health'],
  ...['spray', 'enable', 'lamp', 'reason', 'demand', 'cutoffs'],
  ...['precool', 'frostSensor', 'manualFromReserve', 'automaticAllowed', 'manualAllowed'],
];

/** Endings and beginnings of a flag or a choice: a number in the core that measures nothing. */
const FLAG_ENDINGS = [
  ...['Allowed', 'Accepted', 'Active', 'Fitted', 'Known', 'Met', 'Open', 'Seen', 'Valid'],
  ...['Kind', 'Mode', 'State'],
];
const FLAG_BEGINNINGS = ['has', 'is', 'was'];

/**
 * The words of a name: 'burstMsMax' gives burst, Ms, Max.
 * @param {string} name
 * @returns {string[]}
 */
function wordsOf(name) {
  return name.match(/[A-Z]?[a-z]+\d*|[A-Z]+(?![a-z])\d*|\d+/g) ?? [];
}

/**
 * The words of a constant's name, as those of any other: 'WINDOW_MS_MAX' gives Window, Ms, Max.
 * @param {string} name
 * @returns {string[]}
 */
function capitalsOf(name) {
  return name.split('_').map((word) => word.charAt(0) + word.slice(1).toLowerCase());
}

/**
 * True if a number may go by this name.
 * @param {string} name
 * @returns {boolean}
 */
export function carriesUnit(name) {
  if (KNOWN_NAMES.includes(name)) return true;
  const words = /^[A-Z0-9_]+$/.test(name) ? capitalsOf(name) : wordsOf(name);
  if (!words.some((word) => QUANTITY_WORDS.includes(word.toLowerCase()))) return true;
  if (FLAG_BEGINNINGS.includes(words[0] ?? '')) return true;
  // A rate spells its unit out: `pulsesPerHectometre`.
  if (words.includes('Per')) return true;
  let last = words.length - 1;
  while (last > 0 && QUALIFIER.test(words[last] ?? '')) last--;
  const ending = words[last] ?? '';
  // A unit alone, as in `ms`, starts with a small letter.
  const unit = ending.charAt(0).toUpperCase() + ending.slice(1);
  return UNITS.includes(unit) || COUNTS.includes(unit) || FLAG_ENDINGS.includes(ending);
}

/**
 * True for the types number, number[] and readonly number[].
 * @param {import('./where.js').Node} annotation
 * @returns {boolean}
 */
function isNumeric(annotation) {
  if (!annotation) return false;
  if (annotation.type === 'TSTypeAnnotation') return isNumeric(annotation.typeAnnotation);
  if (annotation.type === 'TSTypeOperator') return isNumeric(annotation.typeAnnotation);
  if (annotation.type === 'TSArrayType') return isNumeric(annotation.elementType);
  if (annotation.type === 'TSUnionType') return annotation.types.some(isNumeric);
  if (
    annotation.type === 'TSTypeReference' &&
    /^(Readonly)?Array$/.test(annotation.typeName.name)
  ) {
    return annotation.typeArguments.params.some(isNumeric);
  }
  return annotation.type === 'TSNumberKeyword';
}

/**
 * The name of the interface or type a property belongs to.
 * @param {import('./where.js').Node} property
 * @returns {string}
 */
function recordName(property) {
  let at = property.parent;
  while (!at.id) at = at.parent;
  return at.id.name;
}

/** TypeScript's `TypeFlags.NumberLike`, which this rule asks for without loading the compiler. */
const NUMBER_LIKE = 296;

/** @type {import('eslint').Rule.RuleModule} */
export const unitsInNames = {
  meta: {
    type: 'problem',
    docs: { description: 'a numeric property or parameter that measures carries its unit' },
    messages: {
      unit: "'{{name}}' measures something but its name has no unit: end it in {{units}}, or a count.",
    },
    schema: [],
  },
  create(context) {
    const services = context.sourceCode.parserServices;

    /** @param {import('./where.js').Node} node @param {string} name */
    function judge(node, name) {
      if (carriesUnit(name)) return;
      context.report({ node, messageId: 'unit', data: { name, units: UNITS.join(', ') } });
    }

    /** @param {import('./where.js').Node} node */
    function judgeProperty(node) {
      if (!isNumeric(node.typeAnnotation) || !node.key.name) return;
      if (RECORD_OF_CODES.test(recordName(node))) return;
      judge(node.key, node.key.name);
    }

    /** @param {import('./where.js').Node} variable @returns {boolean} */
    function holdsNumber(variable) {
      if (variable.id.typeAnnotation) return isNumeric(variable.id.typeAnnotation);
      if (variable.init?.type === 'Literal') return typeof variable.init.value === 'number';
      if (!services?.program) return false;
      return (services.getTypeAtLocation(variable.id).flags & NUMBER_LIKE) !== 0;
    }

    /** @param {import('./where.js').Node} functionNode */
    function judgeParameters(functionNode) {
      for (const parameter of functionNode.params) {
        const target = parameter.type === 'AssignmentPattern' ? parameter.left : parameter;
        if (isNumeric(target.typeAnnotation) && target.name) judge(target, target.name);
      }
    }

    return {
      TSPropertySignature: judgeProperty,
      ':function': judgeParameters,
      /** @param {import('./where.js').Node} node what stands at module level and holds a number */
      VariableDeclarator(node) {
        if (outermostFunction(node) !== undefined || node.id.type !== 'Identifier') return;
        if (holdsNumber(node)) judge(node.id, node.id.name);
      },
    };
  },
};
