/**
 * The pages agree with the code: tables made from the code are up to date, every table has its place,
 * links lead somewhere, and the contract names everything the code has.
 */
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { LIMITS } from '../controller/limits.js';
import { initialSettings } from '../controller/settings-check.js';
import { parseReadings } from '../host-sim/calibrate/readings.js';
import { solveReadings } from '../host-sim/calibrate/solve.js';
import { COMMANDS } from '../host-sim/commands.js';
import { limitText } from '../host-sim/docs/limits.js';
import { docsPages } from '../host-sim/docs/pages.js';
import { docsPictures } from '../host-sim/docs/pictures.js';
import { markdownTable, renderDocs, tablesIn } from '../host-sim/docs/render.js';
import { docsTables } from '../host-sim/docs/tables.js';
import { drive } from '../host-sim/replay/drive.js';
import { TICK_COLUMNS } from '../host-sim/replay/ticks.js';
import { summaryJson } from '../host-sim/report/json.js';
import { parseSettings } from '../host-sim/settings/parse.js';
import { demoTrace } from '../host-sim/trace/demo.js';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
const PAGES = docsPages(ROOT);
const LINKED = [...PAGES, 'DEVELOPERS.md', 'README.md'];

function read(page: string): string {
  return readFileSync(path.join(ROOT, page), 'utf8');
}

/** The targets of a page's links, without those to other sites and within the page. */
function linksOf(text: string): string[] {
  const targets = Array.from(text.matchAll(/\]\(([^)\s]+)\)/gu), (match) => match[1]);
  return targets.filter((target) => !/^([a-z]+:|#)/u.test(target));
}

/** The anchor a heading gets where Markdown is shown on the web (common practice). */
function anchorOf(heading: string): string {
  const words = heading.toLowerCase().replaceAll(/[^\p{L}\p{N} _-]/gu, '');
  return words.trim().replaceAll(' ', '-');
}

let tables: ReadonlyMap<string, string>;
beforeAll(async () => {
  tables = await docsTables();
});

describe('the pages', () => {
  it.each(PAGES)('%s is up to date with the code (else: npm run docs)', (page) => {
    const text = read(page);
    expect(renderDocs(text, tables, page)).toBe(text);
  });

  it.each(LINKED)('%s links to files and headings that are there', (page) => {
    for (const target of linksOf(read(page))) {
      const [file, anchor] = target.split('#');
      const full = path.posix.join(path.posix.dirname(page), file);
      expect(existsSync(path.join(ROOT, full)), `${page} links to ${target}`).toBe(true);
      if (anchor === undefined) continue;
      const headings = Array.from(read(full).matchAll(/^#+ (.*)$/gmu), (match) => match[1]);
      expect(headings.map(anchorOf), `${page} links to ${target}`).toContain(anchor);
    }
  });

  it.each([...docsPictures().keys()])('%s is up to date, and a page shows it', (file) => {
    expect(read(file)).toBe(docsPictures().get(file));
    const name = path.posix.basename(file);
    expect(PAGES.some((page) => read(page).includes(`](${name})`))).toBe(true);
  });

  it('have a place for every table that is made', () => {
    const placed = new Set(PAGES.flatMap((page) => tablesIn(read(page))));
    expect([...tables.keys()].filter((name) => !placed.has(name))).toEqual([]);
  });

  it('name no folder outside the repository', () => {
    for (const page of PAGES)
      expect(read(page), page).not.toMatch(/\.\.\/shared|\/tmp\/|\/work\//u);
  });
});

describe('the tables', () => {
  it('give every limit with the unit of its name', () => {
    expect(limitText('levelLowUl')).toBe('0.1 L');
    expect(limitText('temperatureDcMin')).toBe('-40 degC');
    expect(limitText('rpmBandMax')).toBe('15000 1/min');
    expect(limitText('supplyLatchCount')).toBe('3');
    expect(tables.get('limits')?.split('\n')).toHaveLength(Object.keys(LIMITS).length + 2);
  });

  it('give the tick record in the order of its columns', () => {
    const rows = tables.get('tick columns')?.split('\n').slice(2) ?? [];
    expect(rows.map((row) => row.split('`')[1])).toEqual([...TICK_COLUMNS]);
  });

  it('give options and examples of every command', () => {
    for (const { name } of COMMANDS) {
      expect(tables.get(`options of ${name}`), name).toContain('| `');
      expect(tables.get(`examples of ${name}`), name).toContain(`smirr ${name}`);
    }
    expect(tables.get('options of replay')).toContain('`-s, --settings SETTINGS`');
    expect(tables.get('options of replay')).toContain('`--strict`');
  });
});

describe('the prose', () => {
  it('docs/settings.md shows a settings file that is read without a note', () => {
    const example = /```yaml\n([\s\S]*?)```/u.exec(read('docs/settings.md'))?.[1] ?? '';
    const { settings, notes } = parseSettings(example, 'the example');
    expect(notes).toEqual([]);
    expect(settings).toMatchObject({ tempOnDc: 480, boostOnHpa: 600, reserveUl: 500_000 });
  });

  it('docs/calibrate.md shows a readings file that makes every sensor of it', () => {
    const example = /```yaml\n([\s\S]*?)```/u.exec(read('docs/calibrate.md'))?.[1] ?? '';
    const groups = solveReadings(parseReadings(example, 'the example')).map(({ group }) => group);
    expect(groups).toEqual(['charge', 'ambient', 'boost', 'tach', 'supply', 'flow']);
  });

  it('docs/replay.md names every field of the JSON summary', () => {
    const run = drive(demoTrace('demo:wet'), {
      settings: initialSettings(),
      settingsName: 'initial settings',
    });
    const page = read('docs/replay.md');
    const missing = Object.keys(summaryJson(run)).filter((name) => !page.includes(`\`${name}\``));
    expect(missing).toEqual([]);
  });

  it('docs/architecture.md gives a reason for every package that is installed', () => {
    const manifest = JSON.parse(read('package.json')) as Record<string, Record<string, string>>;
    const page = read('docs/architecture.md');
    const names = Object.keys({ ...manifest['dependencies'], ...manifest['devDependencies'] });
    expect(names.filter((name) => !new RegExp(`[| ]${name}[,| ]`, 'u').test(page))).toEqual([]);
  });
});

describe('the generator', () => {
  const known = new Map([['sums', '| a |\n']]);

  it('replaces what stands between the markers and nothing else', () => {
    const text =
      'before\n<!-- generated: sums -->\nold\n\n| x |\n<!-- /generated -->\nbetween\n' +
      '<!-- generated: sums -->\n<!-- /generated -->\n';
    const block = '<!-- generated: sums -->\n\n| a |\n\n<!-- /generated -->';
    expect(renderDocs(text, known)).toBe(`before\n${block}\nbetween\n${block}\n`);
  });

  it('leaves a page alone that is up to date, and one without markers', () => {
    const fresh = renderDocs('<!-- generated: sums -->\n<!-- /generated -->', known);
    expect(renderDocs(fresh, known)).toBe(fresh);
    expect(renderDocs('prose $1 $& \\n', known)).toBe('prose $1 $& \\n');
  });

  it('refuses a table it does not know and a marker that is alone', () => {
    const unknown = '<!-- generated: sum -->\n<!-- /generated -->';
    expect(() => renderDocs(unknown, known, 'a.md')).toThrow(
      'a.md: no table is called sum; there are sums',
    );
    expect(() => renderDocs('<!-- generated: sums -->\n', known, 'a.md')).toThrow('a.md');
    expect(() => renderDocs('<!-- /generated -->\n', known, 'a.md')).toThrow('is alone');
    const nested = '<!-- generated: sums -->\n<!-- generated: sums -->\n<!-- /generated -->';
    expect(() => renderDocs(nested, known)).toThrow('is alone');
  });

  it('escapes the bar in a cell', () => {
    expect(markdownTable(['a', 'b'], [['x|y', 'z']])).toBe(
      '| a | b |\n| --- | --- |\n| x\\|y | z |',
    );
  });
});
