/** Lint rules of the house; what a rule of the linter cannot say is in tests/house. */
import js from '@eslint/js';
import prettier from 'eslint-config-prettier';
import svelte from 'eslint-plugin-svelte';
import globals from 'globals';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript-eslint';

const ROOT = dirname(dirname(fileURLToPath(import.meta.url)));

export default ts.config(
  { ignores: ['node_modules/', '.build/', 'data/', 'tests/artifacts/'] },
  js.configs.recommended,
  {
    files: ['**/*.ts'],
    extends: [ts.configs.recommended],
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: ROOT }, globals: globals.node },
    rules: {
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/no-misused-promises': ['error', { checksVoidReturn: { arguments: false } }],
      '@typescript-eslint/switch-exhaustiveness-check': ['error', { considerDefaultExhaustiveForUnions: true }],
      '@typescript-eslint/no-non-null-assertion': 'off',
      eqeqeq: ['error', 'always', { null: 'ignore' }],
    },
  },
  ...svelte.configs.recommended,
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    plugins: { '@typescript-eslint': ts.plugin },
    rules: { 'no-unused-vars': 'off', '@typescript-eslint/no-unused-vars': 'error' },
    languageOptions: {
      parserOptions: { parser: ts.parser, extraFileExtensions: ['.svelte'] },
      globals: globals.browser,
    },
  },
  { files: ['ui/**/*.ts'], languageOptions: { globals: globals.browser } },
  { files: ['**/*.mjs', '**/*.js'], languageOptions: { globals: globals.node } },
  { files: ['**/*.ts', '**/*.svelte'], rules: { 'no-undef': 'off' } },
  prettier,
);
