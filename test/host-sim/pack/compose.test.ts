/**
 * Packs: what fails its check is never packed, each with its sentence; what is packed lies where the
 * layout of flash says; and what is read out of a chip is compared part by part.
 */
import { describe, expect, it } from 'vitest';
import { settingsToFlat } from '../../../controller/flat.js';
import { initialSettings } from '../../../controller/settings-check.js';
import { parseCalibration } from '../../../host-sim/calibration/read.js';
import { Fault } from '../../../host-sim/fault.js';
import { decodeBundle } from '../../../host-sim/pack/bundle-header.js';
import {
  composePack,
  packFlash,
  packUf2,
  type PackInputs,
} from '../../../host-sim/pack/compose.js';
import { crc32Mpeg2 } from '../../../host-sim/pack/crc.js';
import { encodeSector, winningSector } from '../../../host-sim/pack/sector.js';
import { decodeUf2 } from '../../../host-sim/pack/uf2.js';
import { flashOf, verifyFlash, type VerifyResult } from '../../../host-sim/pack/verify.js';
import { packInputs, plainBundle, plainImage, TYPICAL_TEXT } from './parts.js';

const SETTINGS_AT = 0x80000;

function faultOf(action: () => unknown): Fault {
  try {
    action();
  } catch (error) {
    if (error instanceof Fault) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

function refusal(changes: Partial<PackInputs>): string {
  const { code, message } = faultOf(() => composePack(packInputs(changes)));
  return `${code} ${message}`;
}

/** The image with a word of its vectors set to another value. */
function imageWith(offset: number, value: number): Uint8Array {
  const image = plainImage();
  new DataView(image.buffer).setUint32(offset, value, true);
  return image;
}

describe('what fails its check is never packed', () => {
  it.each([
    ['it has 200 bytes, too few for an image', plainImage().subarray(0, 200)],
    ['it has 393217 bytes; at most 393216 fit', plainImage(393217)],
    ['the CRC-32/MPEG-2 of its first 252 bytes does not fit', imageWith(8, 0)],
    ['its stack begins at 0x20042004, which is not in RAM', imageWith(256, 0x20042004)],
    ['its stack begins at 0xffffffff, which is not in RAM', imageWith(256, 0xffffffff)],
    [
      'it is entered at 0x10000200, which is no Thumb code of the image',
      imageWith(260, 0x10000200),
    ],
    [
      'it is entered at 0x10060001, which is no Thumb code of the image',
      imageWith(260, 0x10060001),
    ],
  ])('an image: %s', (problem, image) => {
    expect(refusal({ image })).toBe(`E-PACK-02 image.bin cannot be packed: ${problem}`);
  });

  it.each([
    ['it threw (SyntaxError: Unexpected end of input)', Buffer.from('var smirr = {')],
    ['it sets no object smirr', Buffer.from('var other = 1;')],
    ['it threw (Error: no)', Buffer.from('throw new Error("no");')],
    [
      'its core refuses these settings or this calibration',
      plainBundle({ start: 'return settings === 1 ? 0 : 1;' }),
    ],
    ['its first tick gives no number', plainBundle({ tick: 'return undefined;' })],
    ['it threw (Error: bad tick)', plainBundle({ tick: 'throw new Error("bad tick");' })],
  ])('a bundle: %s', (problem, code) => {
    expect(refusal({ code })).toBe(`E-PACK-03 core.js cannot be packed: ${problem}`);
  });

  it('a bundle that loops for ever while it loads', () => {
    const code = Buffer.from('for (;;) {}');
    expect(refusal({ code })).toMatch(
      /^E-PACK-03 core\.js cannot be packed: it threw .*timed out/u,
    );
  });

  it('a bundle or its bytecode that is too long, or no bytecode', () => {
    const long = Buffer.concat([plainBundle(), Buffer.alloc(131053, ' ')]);
    const sentence = 'at most 131052 fit';
    expect(refusal({ code: long })).toContain(sentence);
    expect(refusal({ bytecode: Buffer.alloc(131053, 0xbf) })).toContain(sentence);
    expect(refusal({ bytecode: Buffer.from('text') })).toBe(
      'E-PACK-03 core.js cannot be packed: its bytecode is not that of the engine',
    );
  });

  it('settings that the calibration cannot serve: frost is guarded by a sensor that is not fitted', () => {
    const text = TYPICAL_TEXT.replace(/\nambient:\n(?: .*\n)+/u, '\nambient: not-fitted\n');
    const calibration = parseCalibration(text, 'c.yaml');
    expect(refusal({ calibration })).toMatch(
      /^E-PACK-04 settings and calibration: frostSensor is fitted, but the calibration has no ambient input/u,
    );
    const settings = { ...initialSettings(), frostSensor: 1 };
    expect(composePack(packInputs({ calibration, settings })).content.calibration[0]).toBe(455);
  });
});

describe('a pack', () => {
  const pack = composePack(packInputs());

  it('lies in flash where the layout says: image, bundle, one settings sector, one blank', () => {
    const flash = packFlash(pack);
    expect(flash).toHaveLength(2 * 1024 * 1024);
    expect(flash.subarray(0, 1000)).toEqual(plainImage());
    const bundle = decodeBundle(flash.subarray(0x60000, 0x80000));
    expect(bundle).toMatchObject({ ok: true, content: { type: 0 } });
    const sectors = flash.subarray(SETTINGS_AT, SETTINGS_AT + 8192);
    const winner = winningSector(sectors, pack.content.layoutHash);
    expect(winner).toEqual(pack.content);
    expect(winner?.sequence).toBe(1);
    expect(winner?.settings).toEqual(settingsToFlat(initialSettings()));
    const rest = flash.subarray(SETTINGS_AT + 4096);
    expect(rest.every((byte) => byte === 0xff)).toBe(true);
  });

  it('is one UF2 file that writes both settings sectors whole', () => {
    const reading = decodeUf2(packUf2(pack));
    const addresses = reading.ok ? reading.pages.map((page) => page.address) : [];
    const expected = Array.from({ length: 32 }, (_, page) => 0x10080000 + 256 * page);
    expect(addresses.filter((address) => address >= 0x10080000)).toEqual(expected);
    expect(Buffer.compare(flashOf(packUf2(pack), 'x.uf2'), packFlash(pack))).toBe(0);
  });

  it('carries bytecode in place of the source where there is some', () => {
    const bytecode = Buffer.from([0xbf, 1, 2, 3]);
    const compiled = composePack(packInputs({ bytecode }));
    const bundle = decodeBundle(compiled.bundle);
    expect(bundle).toMatchObject({ ok: true, content: { type: 1 } });
    expect(compiled.fingerprint.code).not.toBe(pack.fingerprint.code);
  });

  it('has a fingerprint of its own for every setting, every image and every calibration', () => {
    const codes = [
      packInputs(),
      packInputs({ image: plainImage(1001) }),
      packInputs({ code: plainBundle({ tick: 'return 1;' }) }),
      packInputs({ settings: { ...initialSettings(), tempOnDc: 451 } }),
      packInputs({
        calibration: parseCalibration(TYPICAL_TEXT.replace('step: 24', 'step: 25'), 'c.yaml'),
      }),
    ].map((inputs) => composePack(inputs).fingerprint.code);
    expect(new Set(codes).size).toBe(codes.length);
    for (const code of codes) expect(code).toMatch(/^([A-Z2-7]{4}-){3}[A-Z2-7]{4}$/u);
  });

  it('checks the boot checksum as the boot ROM does: a message and its CRC give zero', () => {
    // A property of CRC-32/MPEG-2, big-endian CRC behind the message; the ROM's is little-endian.
    const bytes = Buffer.alloc(256);
    bytes.set(plainImage().subarray(0, 252));
    bytes.writeUInt32BE(crc32Mpeg2(bytes.subarray(0, 252)), 252);
    expect(crc32Mpeg2(bytes)).toBe(0);
  });
});

describe('what was read out of a chip', () => {
  const pack = composePack(packInputs());
  const differing = (result: VerifyResult) =>
    result.parts.filter((part) => !part.same).map((part) => part.part);

  function readOut(change: (flash: Uint8Array) => void): VerifyResult {
    const flash = packFlash(pack);
    change(flash);
    return verifyFlash(flashOf(flash, 'readback.bin'), pack);
  }

  function settingsWritten(sequence: number, tempOnDc: number): Uint8Array {
    const settings = settingsToFlat({ ...initialSettings(), tempOnDc });
    return encodeSector({ ...pack.content, sequence, settings });
  }

  it('is this pack as it was flashed, with its fingerprint', () => {
    const result = readOut(() => undefined);
    expect(differing(result)).toEqual([]);
    expect(result).toMatchObject({ sequence: 1, fingerprint: pack.fingerprint });
  });

  it('is this pack whatever account, run log and unused flash hold', () => {
    const result = readOut((flash) => {
      flash.fill(0, 0x82000);
      flash.fill(0, 0x50000, 0x60000);
      flash.fill(0, 0x7f000, 0x80000);
    });
    expect(differing(result)).toEqual([]);
    expect(result.fingerprint).toEqual(pack.fingerprint);
  });

  it('is this pack when the same settings were written again', () => {
    const result = readOut((flash) => flash.set(settingsWritten(2, 450), SETTINGS_AT + 4096));
    expect(differing(result)).toEqual([]);
    expect(result).toMatchObject({ sequence: 2, fingerprint: pack.fingerprint });
  });

  it('has other settings, told by name, where a newer copy is valid', () => {
    const result = readOut((flash) => flash.set(settingsWritten(2, 480), SETTINGS_AT + 4096));
    expect(differing(result)).toEqual(['settings']);
    expect(result.parts[2].differences).toEqual([
      'tempOn is 48.0 degC there, 45.0 degC in the pack',
    ]);
    expect(result.fingerprint?.code).not.toBe(pack.fingerprint.code);
  });

  it('keeps the older settings where the newer copy is damaged', () => {
    const result = readOut((flash) => {
      flash.set(settingsWritten(2, 480), SETTINGS_AT + 4096);
      flash[SETTINGS_AT + 4096 + 40] ^= 1;
    });
    expect(differing(result)).toEqual([]);
  });

  it('has no settings where neither copy is valid', () => {
    const result = readOut((flash) => flash.fill(0, SETTINGS_AT, SETTINGS_AT + 8192));
    expect(differing(result)).toEqual(['settings', 'calibration']);
    expect(result.parts[2].differences).toEqual(['neither copy in flash is valid for this bundle']);
    expect(result.fingerprint).toBeUndefined();
  });

  it('has another image or bundle, told by the first byte', () => {
    const result = readOut((flash) => {
      flash[600] ^= 0xff;
      flash[700] ^= 0xff;
      flash[0x60020] ^= 1;
    });
    expect(differing(result)).toEqual(['image', 'bundle']);
    const [was, is] = [plainImage()[600], plainImage()[600] ^ 0xff].map(
      (byte) => `0x${byte.toString(16).padStart(2, '0')}`,
    );
    expect(result.parts[0].differences).toEqual([
      `2 of 1000 bytes differ, the first at 0x10000258: ${is} there, ${was} in the pack`,
    ]);
    expect(result.parts[1].differences[0]).toMatch(
      /^1 of \d+ bytes differ, the first at 0x10060020/u,
    );
  });

  it('has another calibration, told by the input', () => {
    const { calibration, steps } = parseCalibration(
      TYPICAL_TEXT.replace('4847: 100.0', '4847: 101.0').replace('step: 32', 'step: 31'),
      'c.yaml',
    );
    const other = composePack(packInputs({ calibration: { calibration, steps, name: 'c.yaml' } }));
    const result = verifyFlash(packFlash(other), pack);
    expect(differing(result)).toEqual(['calibration']);
    expect(result.parts[3].differences).toEqual([
      'charge is another',
      'step of boost is 31 there, 32 in the pack',
    ]);
  });

  it('counts more than five settings', () => {
    const settings = settingsToFlat(initialSettings()).map((value) => value + 1);
    const sector = encodeSector({ ...pack.content, sequence: 2, settings });
    const result = readOut((flash) => flash.set(sector, SETTINGS_AT + 4096));
    expect(result.parts[2].differences).toHaveLength(6);
    expect(result.parts[2].differences[5]).toMatch(/^\d\d further settings differ$/u);
  });

  it('must reach to the end of the settings, or be a whole UF2 file', () => {
    const short = faultOf(() => flashOf(new Uint8Array(1000), 'r.bin'));
    expect(short.message).toBe(
      'r.bin has 1000 bytes; a read-out from address 0x10000000 needs 532480 at least, to the end of the settings',
    );
    const uf2 = packUf2(pack);
    const cut = faultOf(() => flashOf(uf2.subarray(0, uf2.length - 512), 'r.uf2'));
    expect(cut.code).toBe('E-PACK-05');
    expect(cut.message).toMatch(/^r\.uf2 is a damaged UF2 file: block 0 says/u);
    const elsewhere = Uint8Array.from(uf2);
    new DataView(elsewhere.buffer).setUint32(12, 0x20000000, true);
    expect(faultOf(() => flashOf(elsewhere, 'r.uf2')).message).toBe(
      'r.uf2 holds address 0x20000000, which is not in flash',
    );
  });
});
