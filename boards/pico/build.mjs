/**
 * Builds the engine image of board `pico` (`npm run board:build`): installs what is missing where it
 * may, fetches and patches the engine's source, compiles, links, and writes image.bin (from flash
 * address 0x10000000, boot2 first), image.elf, symbols.json and build.json to dist/board/pico. The same
 * sources give the same bytes. Usage: build.mjs [OUT [BUILD_FOLDER]]. Exit codes: 0 built; 1 the code does not build; 7 what it needs is not
 * there and cannot be installed, with one sentence that says what.
 */
import { Buffer } from 'node:buffer';
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import path from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { ENGINE_PATCHES } from './engine-patches.mjs';
import { pinsHeader } from './make-pins.mjs';

const HERE = path.dirname(fileURLToPath(import.meta.url));
const ROOT = path.join(HERE, '../..');
const CANNOT = 7;

const ENGINE = 'duktape';
const ENGINE_VERSION = '2.7.0';
/** Of the upstream tarball, so that the same engine is built everywhere. */
const ENGINE_SHA256 = '90f8d2fa8b5567c6899830ddef2c03f3c27960b11aca222fa17aa7ac613c2890';
const PACKAGES = ['gcc-arm-none-eabi', 'libnewlib-arm-none-eabi', 'gcc', 'libc6-dev', 'xz-utils'];
const SOURCES_FOLDER = '/etc/apt';

const HEAP_KB = 161;

const MACHINE = ['-mcpu=cortex-m0plus', '-mthumb'];
const COMMON = [
  ...MACHINE,
  '-std=c11',
  '-O2',
  '-g0',
  '-ffunction-sections',
  '-fdata-sections',
  '-fno-strict-aliasing',
  // The loop that copies code to RAM must not become a call of memcpy, which lies in RAM.
  '-fno-tree-loop-distribute-patterns',
  // Without a system nobody asks for `errno` of a computation.
  '-fno-math-errno',
  // The boot ROM's table lies at addresses near 0, which are no null pointers.
  '--param=min-pagesize=0',
];
/** These are no part of the image: boot2 is linked by itself, the other runs on this computer. */
const APART = ['boot2.c', 'bytecode.c'];
const OWN = ['-Wall', '-Wextra', '-Werror'];

class Problem extends Error {
  /**
   * @param {string} sentence
   * @param {number} code
   */
  constructor(sentence, code) {
    super(sentence);
    this.code = code;
  }
}

/** @param {string} sentence */
function say(sentence) {
  process.stderr.write(`smirr: ${sentence}\n`);
}

/**
 * Runs a program and gives its stdout; throws a Problem with what it said if it failed.
 * @param {string} program
 * @param {string[]} args
 * @param {{ cwd?: string, code?: number, env?: Record<string, string> }} [how]
 */
function run(program, args, how = {}) {
  const result = spawnSync(program, args, {
    cwd: how.cwd ?? ROOT,
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    env: { ...process.env, LC_ALL: 'C', SOURCE_DATE_EPOCH: '0', ...how.env },
  });
  if (result.error === undefined && result.status === 0) return result.stdout;
  const said = (result.error?.message ?? result.stderr ?? '').trim().split('\n').slice(0, 12);
  // What cannot be had is one sentence; what does not build is shown with all that was said.
  const text = how.code === CANNOT ? said.slice(0, 1) : said;
  throw new Problem(`${program} failed: ${text.join('\n')}`, how.code ?? 1);
}

/** @param {string} program */
function isThere(program) {
  return spawnSync(program, ['--version'], { stdio: 'ignore' }).status === 0;
}

/** @param {string} what */
function requireApt(what) {
  const command = `apt-get install ${PACKAGES.join(' ')}`;
  if (!isThere('apt-get')) {
    throw new Problem(`${what} is missing, and there is no apt-get here to install it`, CANNOT);
  }
  if (process.getuid?.() !== 0) {
    throw new Problem(`${what} is missing; as root run: ${command}`, CANNOT);
  }
}

function installTools() {
  const specs = ['--specs=nano.specs', ...MACHINE, '-print-file-name=libc_nano.a'];
  const isWhole =
    isThere('arm-none-eabi-gcc') &&
    path.isAbsolute(run('arm-none-eabi-gcc', specs).trim()) &&
    isThere('gcc') &&
    isThere('xz');
  if (isWhole) return;
  requireApt('the cross compiler');
  say(`installing ${PACKAGES.join(', ')}`);
  const quiet = ['-o', 'Acquire::Retries=2', '-qq'];
  const env = { DEBIAN_FRONTEND: 'noninteractive' };
  run('apt-get', ['update', ...quiet], { code: CANNOT, env });
  const install = ['install', '-y', '--no-install-recommends', ...quiet, ...PACKAGES];
  run('apt-get', install, { code: CANNOT, env });
}

/** The machine's own package sources as sources of source packages. */
function sourceLines() {
  const parts = path.join(SOURCES_FOLDER, 'sources.list.d');
  const names = existsSync(parts) ? readdirSync(parts) : [];
  const files = names.map((name) => path.join(parts, name));
  const modern = files
    .filter((name) => name.endsWith('.sources'))
    .map((name) => readFileSync(name, 'utf8').replace(/^Types:.*$/gm, 'Types: deb-src'));
  if (modern.some((text) => /\bdebian\b/i.test(text))) {
    return { name: 'engine.sources', text: modern.join('\n\n') };
  }
  const old = [
    path.join(SOURCES_FOLDER, 'sources.list'),
    ...files.filter((n) => n.endsWith('.list')),
  ];
  const lines = old
    .filter((name) => existsSync(name))
    .flatMap((name) => readFileSync(name, 'utf8').split('\n'))
    .filter((line) => /^deb(-src)?\s/.test(line))
    .map((line) => line.replace(/^deb(-src)?\s/, 'deb-src '));
  return { name: 'engine.list', text: lines.join('\n') + '\n' };
}

/**
 * The engine's upstream tarball, from an earlier build or by apt.
 * @param {string} folder
 */
function fetchEngine(folder) {
  const tarball = path.join(folder, `${ENGINE}_${ENGINE_VERSION}.orig.tar.xz`);
  const isRight = () =>
    existsSync(tarball) &&
    createHash('sha256').update(readFileSync(tarball)).digest('hex') === ENGINE_SHA256;
  if (isRight()) return tarball;
  requireApt("the engine's source");
  say(`fetching the source of ${ENGINE}`);
  const apt = path.join(folder, 'apt');
  mkdirSync(path.join(apt, 'lists/partial'), { recursive: true });
  mkdirSync(path.join(apt, 'cache/archives/partial'), { recursive: true });
  const sources = sourceLines();
  writeFileSync(path.join(apt, sources.name), sources.text);
  const options = [
    `Dir::Etc::sourcelist=${path.join(apt, sources.name)}`,
    'Dir::Etc::sourceparts=-',
    `Dir::State::lists=${path.join(apt, 'lists')}`,
    `Dir::Cache=${path.join(apt, 'cache')}`,
    'Acquire::Languages=none',
    'APT::Sandbox::User=root',
  ].flatMap((option) => ['-o', option]);
  run('apt-get', ['update', '-qq', ...options], { code: CANNOT });
  run('apt-get', ['source', '--download-only', '-qq', ...options, ENGINE], {
    code: CANNOT,
    cwd: folder,
  });
  if (!isRight()) {
    throw new Problem(
      `${ENGINE} ${ENGINE_VERSION} is not what this machine's sources have`,
      CANNOT,
    );
  }
  rmSync(apt, { recursive: true });
  return tarball;
}

/**
 * Unpacks the engine's one C file and header, and makes its look at the clock more frequent.
 * @param {string} tarball
 * @param {string} folder
 */
function unpackEngine(tarball, folder) {
  const wanted = ['duktape.c', 'duktape.h', 'duk_config.h'].map((name) => `*/src/${name}`);
  const args = ['-xJf', tarball, '-C', folder, '--strip-components=2', '--wildcards'];
  run('tar', [...args, '--no-same-owner', ...wanted]);
  renameSync(path.join(folder, 'duk_config.h'), path.join(folder, 'duk_config_stock.h'));
  copyFileSync(path.join(HERE, 'engine-config.h'), path.join(folder, 'duk_config.h'));
  const file = path.join(folder, 'duktape.c');
  let text = readFileSync(file, 'utf8');
  for (const { find, replace, why } of ENGINE_PATCHES) {
    if (text.split(find).length !== 2) throw new Problem(`the engine has no single '${find}'`, 1);
    text = text.replace(find, () => `/* smirr: ${why} */ ${replace}`);
  }
  writeFileSync(file, text);
}

/**
 * CRC-32/MPEG-2 (polynomial 0x04C11DB7, start all ones, not reflected, not inverted), as the boot ROM
 * computes it: RP2040 datasheet, chapter 2.8.1.3.1.
 * @param {Uint8Array} bytes
 */
export function crc32Mpeg2(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x80000000 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  return crc >>> 0;
}

/** @param {string} folder where the object files go; gives boot2's 256 bytes */
function buildBoot2(folder) {
  const elf = path.join(folder, 'boot2.elf');
  const bin = path.join(folder, 'boot2.bin');
  const flags = [...MACHINE, '-std=c11', '-Os', '-g0', '-ffreestanding', '-nostdlib', ...OWN];
  const script = ['-T', path.join(HERE, 'boot2.ld'), '-Wl,--build-id=none'];
  run('arm-none-eabi-gcc', [...flags, ...script, path.join(HERE, 'boot2.c'), '-o', elf]);
  run('arm-none-eabi-objcopy', ['-O', 'binary', elf, bin]);
  const code = readFileSync(bin);
  if (code.length > 252) throw new Problem(`boot2 has ${code.length} bytes; at most 252 fit`, 1);
  const boot2 = Buffer.alloc(256);
  code.copy(boot2);
  boot2.writeUInt32LE(crc32Mpeg2(boot2.subarray(0, 252)), 252);
  return boot2;
}

/**
 * Compiles the engine unless that was done before with the same compiler, flags and sources: it takes
 * half a minute.
 * @param {string} compiler
 * @param {string} object
 * @param {string[]} flags
 * @param {string[]} sources
 */
function compileOnce(compiler, object, flags, sources) {
  const hash = createHash('sha256').update(run(compiler, ['--version']));
  hash.update(flags.join('\n'));
  for (const source of sources) hash.update(readFileSync(source));
  const key = hash.digest('hex');
  const stamp = `${object}.key`;
  if (existsSync(object) && existsSync(stamp) && readFileSync(stamp, 'utf8') === key) return;
  rmSync(stamp, { force: true });
  run(compiler, flags);
  writeFileSync(stamp, key);
}

/** @param {string} folder the object files' folder, with the engine's source in it */
function buildImage(folder) {
  const include = ['-I', folder, '-I', HERE, '-I', path.dirname(folder)];
  const maps = [`-ffile-prefix-map=${folder}=engine`, `-ffile-prefix-map=${HERE}=pico`];
  const objects = [];
  const own = readdirSync(HERE).filter((name) => name.endsWith('.c') && !APART.includes(name));
  for (const name of own.sort()) {
    const object = path.join(folder, name.replace(/\.c$/, '.o'));
    const flags = [...COMMON, ...OWN, ...maps, ...include, `-DHEAP_KB=${HEAP_KB}`];
    run('arm-none-eabi-gcc', [...flags, '-c', path.join(HERE, name), '-o', object]);
    objects.push(object);
  }
  const engine = path.join(folder, 'duktape.o');
  const quiet = ['-w', '-std=c99'];
  const source = path.join(folder, 'duktape.c');
  const flags = [...COMMON, ...quiet, ...maps, ...include, '-c', source, '-o', engine];
  compileOnce('arm-none-eabi-gcc', engine, flags, [source, path.join(folder, 'duk_config.h')]);
  objects.push(engine);
  const elf = path.join(folder, 'image.elf');
  const script = ['-T', path.join(HERE, 'image.ld'), '-nostartfiles', '--specs=nano.specs'];
  const link = ['-Wl,--gc-sections', '-Wl,--build-id=none', '-Wl,--no-warn-rwx-segments'];
  run('arm-none-eabi-gcc', [
    ...[...MACHINE, ...script, ...link, ...objects],
    ...['-lm', '-lc', '-lgcc', '-o', elf],
  ]);
  run('arm-none-eabi-strip', ['--strip-debug', elf]);
  run('arm-none-eabi-objcopy', ['-O', 'binary', elf, path.join(folder, 'image-body.bin')]);
  return { elf, body: readFileSync(path.join(folder, 'image-body.bin')) };
}

/**
 * The bundle as bytecode: compiling it on the chip would take more heap and time than there is.
 * @param {string} folder with the engine's source in it
 * @param {string} source the bundle, ES5
 */
function buildBytecode(folder, source) {
  const tool = path.join(folder, 'bytecode');
  const flags = ['-std=c99', '-O1', '-w', '-DSMIRR_HOST', '-I', folder];
  const sources = [path.join(HERE, 'bytecode.c'), path.join(folder, 'duktape.c')];
  const uses = [...sources, path.join(folder, 'duk_config.h')];
  compileOnce('gcc', tool, [...flags, ...sources, '-lm', '-o', tool], uses);
  const out = path.join(folder, 'core.bytecode');
  run(tool, [source, out]);
  return readFileSync(out);
}

/**
 * Every symbol with its address.
 * @param {string} elf
 * @returns {Record<string, number>}
 */
function readSymbols(elf) {
  /** @type {Record<string, number>} */
  const symbols = {};
  for (const line of run('arm-none-eabi-nm', [elf]).split('\n')) {
    const [address, , name] = line.trim().split(/\s+/);
    if (address === undefined || name === undefined || name.startsWith('$')) continue;
    symbols[name] = parseInt(address, 16);
  }
  return Object.fromEntries(Object.entries(symbols).sort(([a], [b]) => (a < b ? -1 : 1)));
}

/**
 * What runs while the flash is busy must not touch it: no call and no constant of our own code in RAM
 * may lead there.
 * @param {string} elf
 * @param {Record<string, number>} symbols
 * @param {Buffer} body image without boot2
 */
function checkRamCode(elf, symbols, body) {
  const { own_start: start, own_end: end, ram_start: ram, ram_load: load } = symbols;
  const range = [`--start-address=${start}`, `--stop-address=${end}`];
  const text = run('arm-none-eabi-objdump', ['-d', ...range, elf]);
  const calls = [...text.matchAll(/\bbl\t([0-9a-f]+) <([^>]+)>/g)];
  const bad = calls.find(([, to, name]) => name?.includes('_veneer') || !to?.startsWith('200'));
  if (bad) throw new Problem(`code that must be in RAM calls ${bad[2]}, which is in flash`, 1);
  for (let at = start; at < end; at += 4) {
    const word = body.readUInt32LE(load - 0x10000100 + at - ram);
    // 0x10000000 itself is the base that addresses are made offsets with, not a place.
    if (word > 0x10000000 && word < 0x10060000) {
      throw new Problem(`code in RAM refers to flash at 0x${word.toString(16)}`, 1);
    }
  }
}

/**
 * @param {string} out where the image goes
 * @param {string} folder where everything else goes; the engine's object is kept there
 */
function build(out, folder) {
  installTools();
  mkdirSync(folder, { recursive: true });
  const tarball = fetchEngine(folder);
  unpackEngine(tarball, folder);
  const pins = JSON.parse(readFileSync(path.join(HERE, 'pins.json'), 'utf8'));
  mkdirSync(path.join(folder, 'build'), { recursive: true });
  writeFileSync(path.join(folder, 'build/pins.h'), pinsHeader(pins));
  const boot2 = buildBoot2(folder);
  const { elf, body } = buildImage(folder);
  const symbols = readSymbols(elf);
  checkRamCode(elf, symbols, body);
  const image = Buffer.concat([boot2, body]);
  const source = path.join(ROOT, 'dist/board/core.es5.js');
  if (!existsSync(source)) throw new Problem(`${source} is missing; run: npm run build`, CANNOT);
  const bytecode = buildBytecode(folder, source);
  mkdirSync(out, { recursive: true });
  writeFileSync(path.join(out, 'core.bytecode'), bytecode);
  writeFileSync(path.join(out, 'image.bin'), image);
  copyFileSync(elf, path.join(out, 'image.elf'));
  writeFileSync(path.join(out, 'symbols.json'), JSON.stringify(symbols, null, 1) + '\n');
  const facts = {
    board: 'pico',
    engine: `${ENGINE} ${ENGINE_VERSION}`,
    compiler: run('arm-none-eabi-gcc', ['-dumpfullversion']).trim(),
    sha256: createHash('sha256').update(image).digest('hex'),
    coreSha256: createHash('sha256').update(readFileSync(source)).digest('hex'),
    flashBytes: image.length,
    bytecodeBytes: bytecode.length,
    ramCodeBytes: symbols['ram_end'] - symbols['ram_start'],
    ramBytes: symbols['ram_used_end'] - symbols['ram_start'],
    heapArenaBytes: HEAP_KB * 1024,
    stackBytes: symbols['stack_top'] - symbols['stack_end'],
  };
  writeFileSync(path.join(out, 'build.json'), JSON.stringify(facts, null, 1) + '\n');
  say(`built ${path.relative(ROOT, out)}/image.bin, ${image.length} bytes`);
}

function main() {
  const board = path.join(ROOT, 'dist/board');
  const [out = path.join(board, 'pico'), folder = path.join(board, 'build')] =
    process.argv.slice(2);
  try {
    build(path.resolve(out), path.resolve(folder));
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    say(error.message);
    process.exitCode = error.code;
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) main();
