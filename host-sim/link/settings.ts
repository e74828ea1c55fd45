/**
 * Settings to and from a controller. Sending writes a whole sector over the copy that is not in use, reads
 * both back, compares, and restarts the controller, which then runs with them; its calibration
 * stays. The controller takes them only while disarmed, with the lock strap open, and within its
 * limits; a power cut at any moment leaves the old settings or the new.
 */
import { refusalOf } from '../../controller/core.js';
import { settingsToFlat } from '../../controller/flat.js';
import { SETTINGS, type SettingName, type Settings } from '../../controller/settings.js';
import { Fault } from '../fault.js';
import { crc32 } from '../pack/crc.js';
import { SECTOR_BYTES } from '../pack/flash-map.js';
import { encodeSector, type SectorContent } from '../pack/sector.js';
import { formatValue } from '../settings/format.js';
import { askHello, readCarried, type Device } from './device.js';
import { MessageType, STAGE_BYTES_MAX, u16, u32 } from './messages.js';

/** An erase of at most 400 ms and 16 pages of at most 3 ms, twice over. */
const SAVE_WITHIN_MS = 3000;
const RESTART_MS = 700;
/** The arm switch must have been open for a second. */
const DISARMED_WITHIN_MS = 1500;
const ASK_AGAIN_MS = 250;

export interface SentSettings {
  /** What changed, a sentence each; empty if the controller had these settings. */
  readonly changes: readonly string[];
  /** The sequence number it runs with now. */
  readonly sequence: number;
}

/** Sends settings. `filled` are those that the user's file leaves out. Throws E-LINK-03 to -08. */
export async function sendSettings(
  device: Device,
  given: Settings,
  filled: readonly SettingName[],
): Promise<SentSettings> {
  const { content, settings: had, calibration } = await readCarried(device);
  // The pump's flow was measured with the calibration: a file that does not name it leaves it.
  const settings = filled.includes('flow') ? { ...given, flowUlps: had.flowUlps } : given;
  const changes = changesBetween(had, settings);
  if (changes.length === 0) return { changes, sequence: content.sequence };
  const refusal = refusalOf(settings, calibration);
  if (refusal !== '') throw new Fault('E-LINK-06', `settings are not sent: ${refusal}`);
  await waitUntilWritable(device);
  const wanted = { ...content, settings: settingsToFlat(settings), sequence: content.sequence + 1 };
  await write(device, wanted);
  await compareReadBack(device, wanted);
  await restart(device, wanted.sequence);
  return { changes, sequence: wanted.sequence };
}

function changesBetween(had: Settings, settings: Settings): string[] {
  return SETTINGS.filter((row) => had[row.field] !== settings[row.field]).map((row) => {
    const [was, is] = [formatValue(row, had[row.field]), formatValue(row, settings[row.field])];
    return `${row.name}: ${was} -> ${is}`;
  });
}

async function waitUntilWritable({ client, name }: Device): Promise<void> {
  for (let waitedMs = 0; ; waitedMs += ASK_AGAIN_MS) {
    const hello = await askHello(client, name);
    if (hello.isLocked)
      throw new Fault('E-LINK-06', 'settings are not sent: the lock strap is closed');
    if (hello.mayWrite) return;
    if (waitedMs >= DISARMED_WITHIN_MS) {
      throw new Fault(
        'E-LINK-06',
        'settings are not sent: the controller is armed; open the arm switch',
      );
    }
    await client.wait(ASK_AGAIN_MS);
  }
}

async function write({ client }: Device, content: SectorContent): Promise<void> {
  const bytes = encodeSector(content);
  const what = 'settings are not written';
  for (let at = 0; at < SECTOR_BYTES; at += STAGE_BYTES_MAX) {
    const piece = bytes.subarray(at, at + STAGE_BYTES_MAX);
    await client.demand(what, MessageType.Stage, [...u16(at), ...piece]);
  }
  const once = { withinMs: SAVE_WITHIN_MS, tries: 1 };
  await client.demand(what, MessageType.Save, u32(crc32(bytes)), once);
}

async function compareReadBack(device: Device, wanted: SectorContent): Promise<void> {
  const { content } = await readCarried(device);
  if (Buffer.compare(encodeSector(content), encodeSector(wanted)) === 0) return;
  throw new Fault('E-LINK-08', 'the settings that were read back are not those that were sent');
}

async function restart({ client, name }: Device, sequence: number): Promise<void> {
  await client.demand('settings are written but not in use', MessageType.Restart);
  await client.wait(RESTART_MS);
  const hello = await askHello(client, name);
  if (hello.sequence === sequence && hello.copy >= 0) return;
  const sentence = `the controller restarted with settings ${hello.sequence}, not with ${sequence} that were written`;
  throw new Fault('E-LINK-08', sentence);
}
