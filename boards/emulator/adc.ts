/**
 * Voltages at the converter's pins. Each analogue input of pins.json has a voltage; some stand on a
 * pin of the chip, the rest behind the analogue switch that the select pins turn, which takes time to
 * settle. Gives the converter codes of 12 bits, with noise if asked for. Volts at the pin, after
 * whatever divider the board has.
 */
import type { RP2040 } from 'rp2040js';
import type { BoardClock } from './clock.js';
import type { Complain } from './fault.js';
import type { BoardPins } from './pins.js';
import type { Random } from './random.js';

const CODES = 4096;
const FIRST_ANALOGUE_GPIO = 26;
/** Some 10 kOhm into some 10 nF: slower than board pico's own (circuits/analogue-switch.cir), to be safe. */
const SETTLING_NANOS = 100e3;
/** One conversion: 96 cycles of 48 MHz (datasheet 4.9.2). */
const SAMPLE_NANOS = 2000;

export class Analogue {
  /** Volts by the input's name. */
  readonly volts: Record<string, number> = {};
  /** Deviation of the noise, in steps of the converter. */
  noise = 0;
  /** The switch stays at this input, whatever is selected; undefined is a sound switch. */
  stuckAt: number | undefined;

  private readonly referenceVolts: number;
  private readonly byChannel = new Map<number, string>();
  private readonly pins: BoardPins;
  private selected = 0;
  private beforeVolts = 0;
  private turnedNanos = -Infinity;

  constructor(
    private readonly mcu: RP2040,
    private readonly clock: BoardClock,
    pins: BoardPins,
    private readonly random: Random,
    private readonly complain: Complain,
  ) {
    this.pins = pins;
    this.referenceVolts = pins.referenceMv / 1000;
    for (const { name, channel } of pins.analogue) {
      this.byChannel.set(channel, name);
      this.volts[name] = 0;
    }
    for (const name of Object.values(pins.switch.inputs)) this.volts[name] = 0;
    for (const gpio of pins.switch.select) mcu.gpio[gpio].addListener(() => this.turn());
    mcu.adc.onADCRead = (channel) => this.read(channel);
  }

  /** Sets an input by the code of 16 bits that the board should come to. */
  setCode(name: string, code: number): void {
    this.volts[name] = (code / 65535) * this.referenceVolts;
  }

  /** What the switch's common pin carries now. */
  private sharedVolts(): number {
    const to = this.inputVolts(this.selected);
    const passed = this.clock.nanos - this.turnedNanos;
    return to + (this.beforeVolts - to) * Math.exp(-passed / SETTLING_NANOS);
  }

  private inputVolts(selected: number): number {
    const name = this.pins.switch.inputs[this.stuckAt ?? selected];
    return name === undefined ? 0 : this.volts[name];
  }

  private turn(): void {
    let selected = 0;
    this.pins.switch.select.forEach((gpio, bit) => {
      const pin = this.mcu.gpio[gpio];
      if (pin.outputEnable && pin.outputValue) selected |= 1 << bit;
    });
    if (selected === this.selected) return;
    this.beforeVolts = this.sharedVolts();
    this.turnedNanos = this.clock.nanos;
    this.selected = selected;
  }

  private read(channel: number): void {
    const { adc, gpio } = this.mcu;
    const pin = gpio[FIRST_ANALOGUE_GPIO + channel];
    if (pin !== undefined && (pin.pulldownEnabled || pin.pullupEnabled)) {
      this.complain(`converter input ${channel} was read with a pull resistor on its pin`);
    }
    adc.currentChannel = channel;
    adc.channelValues[channel] = this.convert(this.pinVolts(channel));
    adc.sampleAlarm.schedule(SAMPLE_NANOS);
  }

  private pinVolts(channel: number): number {
    if (channel === this.pins.switch.channel) return this.sharedVolts();
    const name = this.byChannel.get(channel);
    if (name === undefined) return this.complain(`converter input ${channel} has no wire`);
    return this.volts[name];
  }

  private convert(volts: number): number {
    const noise = this.noise === 0 ? 0 : this.noise * this.random.normal();
    const code = Math.floor((volts / this.referenceVolts) * CODES + noise);
    return Math.min(CODES - 1, Math.max(0, code));
  }
}
