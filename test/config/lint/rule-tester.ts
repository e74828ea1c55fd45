/**
 * ESLint's own tester, running under vitest: each case is a test of its own. A case is written as
 * the file it pretends to be and its code; an invalid one adds the messages it must give.
 */
import { RuleTester, type Rule } from 'eslint';
import tseslint from 'typescript-eslint';
import { describe, it } from 'vitest';

RuleTester.describe = describe;
RuleTester.it = it;
RuleTester.itOnly = it.only;

type Valid = readonly [filename: string, code: string];
type Invalid = readonly [filename: string, code: string, ...messageIds: string[]];

const tester = new RuleTester({
  languageOptions: {
    parser: tseslint.parser,
    ecmaVersion: 2022,
    sourceType: 'module',
  },
});

/** Runs a rule over its cases; every message of an invalid case must appear, in order. */
export function tryRule(
  name: string,
  rule: Rule.RuleModule,
  cases: { valid: readonly Valid[]; invalid: readonly Invalid[] },
): void {
  tester.run(name, rule, {
    valid: cases.valid.map(([filename, code]) => ({ filename, code })),
    invalid: cases.invalid.map(([filename, code, ...messageIds]) => ({
      filename,
      code,
      errors: messageIds.map((messageId) => ({ messageId })),
    })),
  });
}
