/**
 * `npm run evidence`: writes the evidence of the initial settings, a quick look with seed 1, to
 * docs/evidence-initial.html, without a date: the same code and image write the same page. Run from the
 * root of the repository, as the scripts of package.json do.
 */
import { writeFileSync } from 'node:fs';
import { Fault } from './fault.js';
import { loadPack } from './pack/load.js';
import { QUICK } from './prove/amount.js';
import { evidencePage } from './prove/page.js';
import { prove } from './prove/prove.js';
import { namedSettings } from './settings/named.js';
import { processTerminal } from './terminal.js';

const PAGE = 'docs/evidence-initial.html';

const terminal = processTerminal();
const named = await namedSettings(undefined, terminal);

/** The pack for the emulated board, or why there is none. */
async function packOrReason() {
  try {
    return await loadPack({ board: 'pico', settings: named, calibration: undefined }, terminal);
  } catch (error) {
    if (error instanceof Fault) return error.message;
    throw error;
  }
}

const { report } = prove({
  ...{ settings: named.settings, settingsName: named.name, amount: QUICK, seed: 1, date: '' },
  pack: await packOrReason(),
  onProgress: (way, share) => terminal.progress(`${way} ${Math.round(100 * share)} %`),
});
writeFileSync(PAGE, evidencePage(report));
terminal.say(`wrote ${PAGE}`);
process.exitCode = report.passed ? 0 : 1;
