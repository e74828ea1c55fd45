/**
 * Random tests draw from a fixed seed, so that the same commit passes or fails the same everywhere;
 * `npm run test:long` draws a new one each time. fast-check prints the seed of a failure;
 * SMIRR_SEED=N runs with that one.
 */
import fc from 'fast-check';

const FIXED_SEED = 1968;

function chosenSeed(): number {
  const given = process.env['SMIRR_SEED'];
  if (given !== undefined) return Number(given);
  return process.env['SMIRR_LONG'] === '1' ? Date.now() % 2 ** 31 : FIXED_SEED;
}

fc.configureGlobal({ seed: chosenSeed() });
