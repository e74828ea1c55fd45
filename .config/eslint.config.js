/**
 * What lint asks for, and where. Everything: the recommended rules with types, no `any`, no default
 * exports, `import type` for types. The control core: our own rules on top, because its code runs on
 * a small engine. A breach is an error; there are no warnings.
 */
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import js from '@eslint/js';
import tseslint from 'typescript-eslint';
import { smirrRules } from './lint/plugin.js';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
const TYPESCRIPT = ['**/*.ts'];

// eslint-disable-next-line no-restricted-exports -- ESLint reads its configuration from here
export default tseslint.config(
  { ignores: ['dist/', 'out/', 'coverage/', 'node_modules/', 'boards/**/build/'] },
  { linterOptions: { reportUnusedDisableDirectives: 'error' } },
  js.configs.recommended,
  {
    rules: {
      eqeqeq: 'error',
      'no-restricted-exports': ['error', { restrictDefaultExports: { direct: true } }],
      'prefer-const': 'error',
    },
  },
  {
    files: ['.config/**/*.{js,mjs}'],
    languageOptions: { globals: { process: 'readonly', URL: 'readonly', console: 'readonly' } },
  },
  {
    files: TYPESCRIPT,
    extends: [tseslint.configs.recommendedTypeChecked],
    languageOptions: {
      parserOptions: {
        project: ['check', 'page'].map((name) => path.join(ROOT, `.config/tsconfig.${name}.json`)),
        tsconfigRootDir: ROOT,
      },
    },
    rules: {
      '@typescript-eslint/consistent-type-imports': ['error', { fixStyle: 'inline-type-imports' }],
      '@typescript-eslint/consistent-type-exports': 'error',
      // The core's records are integers; comparing one with a member of a const enum is the design.
      '@typescript-eslint/no-unsafe-enum-comparison': 'off',
      // A leading underscore says: taken because the caller gives it, not needed here.
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_' }],
      // A sentence may hold a number.
      '@typescript-eslint/restrict-template-expressions': ['error', { allowNumber: true }],
    },
  },
  {
    files: ['controller/**/*.ts'],
    plugins: { smirr: smirrRules },
    rules: {
      'smirr/bounded-tick': 'error',
      'smirr/imports-inside': 'error',
      'smirr/integer-arithmetic': 'error',
      'smirr/no-allocation-in-tick': 'error',
      'smirr/small-library': 'error',
      'smirr/units-in-names': 'error',
    },
  },
  {
    files: ['controller/**/*.ts', 'host-sim/**/*.ts'],
    plugins: { smirr: smirrRules },
    rules: { 'smirr/documented-exports': 'error' },
  },
);
