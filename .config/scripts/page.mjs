/**
 * Makes dist/workbench/page.js, the one script of the workbench page: the page, the core, the trace
 * readers and the libraries they use, compiled against the library of browsers and bundled into one
 * file, which runs in the page and again as its worker. The licences of the libraries stand at its
 * head. Runs after the compiler.
 */
import { Buffer } from 'node:buffer';
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { rollup } from 'rollup';
import { ROOT, runNode, say, toolPath } from './tools.mjs';

const MODULES = path.join(ROOT, 'dist', 'workbench', 'modules');
const BYTES = path.join(MODULES, 'host-sim/workbench/page/bytes.js');
const PAGE = path.join(ROOT, 'dist', 'workbench', 'page.js');

/**
 * The libraries' modules for browsers, by the name they are imported with. The CSV library's own build
 * for them carries a stand-in for Node's buffers that takes no other byte arrays; it gets ours instead.
 */
const LIBRARIES = {
  'csv-parse/sync': 'csv-parse/lib/sync.js',
  uplot: 'uplot/dist/uPlot.esm.js',
  yaml: 'yaml/browser/dist/index.js',
};

/** @returns {number} the compiler's exit code */
function compilePage() {
  return runNode(
    toolPath('tsc'),
    [
      ...['-p', '.config/tsconfig.page.json', '--noEmitOnError', '--incremental'],
      ...['--tsBuildInfoFile', path.join(MODULES, '.tsbuildinfo')],
    ],
    { stdoutToStderr: true },
  );
}

/** @returns {string} the licences of the libraries in the bundle, as a comment */
function licences() {
  const texts = Object.values(LIBRARIES).map((file) => {
    const [name] = file.split('/');
    const licence = readFileSync(path.join(ROOT, 'node_modules', name ?? '', 'LICENSE'), 'utf8');
    return `${name}\n\n${licence.trim()}`;
  });
  return `/*!\nThis file carries these libraries:\n\n${texts.join('\n\n')}\n*/`;
}

/** @returns {Promise<string>} */
async function bundlePage() {
  const bundle = await rollup({
    input: path.join(MODULES, 'host-sim/workbench/page/main.js'),
    plugins: [
      {
        name: 'libraries-for-browsers',
        resolveId: (name) => {
          const file = /** @type {Record<string, string>} */ (LIBRARIES)[name];
          return file === undefined ? null : path.join(ROOT, 'node_modules', file);
        },
        transform: (code, id) =>
          /node_modules.csv-parse/.test(id) && /\bBuffer\b/.test(code)
            ? {
                code: `import { Bytes as Buffer } from ${JSON.stringify(BYTES)};${code}`,
                map: null,
              }
            : null,
      },
    ],
    onwarn: (warning) => {
      // Modules of the YAML library import each other in circles, which does no harm there.
      if (warning.code === 'CIRCULAR_DEPENDENCY' && /node_modules/.test(warning.message)) return;
      throw new Error(warning.message);
    },
  });
  const { output } = await bundle.generate({
    ...{ format: 'iife', banner: licences(), indent: false, generatedCode: 'es2015' },
  });
  await bundle.close();
  return output[0].code;
}

/** @returns {Promise<number>} 0, or the compiler's exit code */
async function makePage() {
  mkdirSync(MODULES, { recursive: true });
  const compiled = compilePage();
  if (compiled !== 0) return compiled;
  const code = await bundlePage();
  // Put in place whole: two builds at once do no harm.
  writeFileSync(`${PAGE}.part`, code);
  renameSync(`${PAGE}.part`, PAGE);
  const zipped = (gzipSync(code).length / 1024).toFixed(0);
  say(
    `dist/workbench/page.js has ${Buffer.byteLength(code).toLocaleString('en')} bytes, ${zipped} kB gzipped`,
  );
  return 0;
}

process.exitCode = await makePage();
