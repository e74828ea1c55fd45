/**
 * Which pages the workbench opens: those of ours that are named or lie beside a trace, and no other file,
 * whatever it is called.
 */
import { copyFileSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { pageOf } from '../../../host-sim/report/style.js';
import { findPages, pageNow } from '../../../host-sim/workbench/pages.js';

const folder = mkdtempSync(join(tmpdir(), 'smirr-pages-'));
const at = (name: string) => join(folder, name);

afterAll(() => rmSync(folder, { recursive: true }));

describe('findPages', () => {
  it('finds evidence and plans beside a trace, and no replay, foreign or broken page', async () => {
    copyFileSync('docs/evidence-initial.html', at('evidence.html'));
    writeFileSync(at('hills.html'), pageOf('Loops & "hills" <1>: plan', 'x'));
    writeFileSync(at('run.html'), pageOf('run.csv: replay', 'x'));
    writeFileSync(at('foreign.html'), '<title>other: plan</title><script>1</script>');
    writeFileSync(at('empty.html'), '');
    writeFileSync(at('plan.txt'), pageOf('named otherwise: plan', 'x'));
    const found = await findPages([], [at('run.csv'), at('second.csv')]);
    expect(found.map(({ title, name }) => [name, title])).toEqual([
      ['evidence.html', 'Evidence: smirr prove'],
      ['hills.html', 'Loops & "hills" <1>: plan'],
    ]);
  });

  it('puts first what is named, once, of whatever kind', async () => {
    const found = await findPages([at('run.html'), at('hills.html')], [at('run.csv')]);
    expect(found.map(({ name }) => name)).toEqual(['run.html', 'hills.html', 'evidence.html']);
  });

  it('says which file is none of ours', async () => {
    await expect(findPages([at('foreign.html')], [])).rejects.toThrow(/no page that smirr wrote/u);
    await expect(findPages([at('gone.html')], [])).rejects.toThrow(/gone\.html is not there/u);
  });
});

describe('pageNow', () => {
  it('gives a page as it is now, and nothing once it is another file', async () => {
    const path = at('turns.html');
    writeFileSync(path, pageOf('one: plan', 'first'));
    expect(new TextDecoder().decode(await pageNow(path))).toContain('first');
    writeFileSync(path, pageOf('one: plan', 'second'));
    expect(new TextDecoder().decode(await pageNow(path))).toContain('second');
    writeFileSync(path, '<script>1</script>');
    expect(await pageNow(path)).toBeUndefined();
    expect(await pageNow(at('gone.html'))).toBeUndefined();
  });
});
