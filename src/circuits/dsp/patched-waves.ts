/** The waves with an oscillator's jacks and settings, however their samples are worked out. */

import { Wire } from '../core/wire';
import { Waves } from './waves';

/** V of linear FM at which the amount is reached in full. */
const FM_VOLTS: f64 = 5;
/** Part of a period a volt. */
const WIDTH_PER_VOLT: f64 = 0.1;
const NARROWEST: f64 = 0.05;
const WIDEST: f64 = 0.95;

export abstract class PatchedWaves extends Waves {
  protected readonly pitch: Wire;
  protected readonly exponentialFm: Wire;
  protected readonly linearFm: Wire;
  protected readonly syncWire: Wire;
  protected readonly widthWire: Wire;
  protected readonly sineWire: Wire | null;
  protected readonly triangleWire: Wire | null;
  protected readonly sawWire: Wire | null;
  protected readonly pulseWire: Wire | null;
  /** Cycles a sample of the wires with 0 V at every jack. */
  protected readonly base: f64;
  protected readonly exponentialAmount: f64;
  protected readonly linearAmount: f64;
  protected readonly syncOn: f64;
  protected readonly syncOff: f64;
  protected readonly soundsPitch: bool;
  protected readonly hasLinear: bool;
  protected readonly hasSync: bool;
  protected readonly hasWidth: bool;
  private readonly setWidth: f64;

  /** @param soundsPitch whether sound reaches pitch or exponential-fm; the others: whether anything does. */
  constructor(
    pitch: Wire,
    exponentialFm: Wire,
    linearFm: Wire,
    sync: Wire,
    widthWire: Wire,
    sine: Wire | null,
    triangle: Wire | null,
    saw: Wire | null,
    pulse: Wire | null,
    base: f64,
    exponentialAmount: f64,
    linearAmount: f64,
    width: f64,
    syncOn: f64,
    syncOff: f64,
    soundsPitch: bool,
    hasLinear: bool,
    hasSync: bool,
    hasWidth: bool,
  ) {
    super(width, sine != null, triangle != null, saw != null, pulse != null);
    this.pitch = pitch;
    this.exponentialFm = exponentialFm;
    this.linearFm = linearFm;
    this.syncWire = sync;
    this.widthWire = widthWire;
    this.sineWire = sine;
    this.triangleWire = triangle;
    this.sawWire = saw;
    this.pulseWire = pulse;
    this.base = base;
    this.exponentialAmount = exponentialAmount;
    this.linearAmount = linearAmount / FM_VOLTS;
    this.setWidth = width;
    this.syncOn = syncOn;
    this.syncOff = syncOff;
    this.soundsPitch = soundsPitch;
    this.hasLinear = hasLinear;
    this.hasSync = hasSync;
    this.hasWidth = pulse != null && hasWidth;
    this.reads(pitch);
    this.reads(exponentialFm);
    this.reads(linearFm);
    this.reads(sync);
    this.reads(widthWire);
    this.drives(sine);
    this.drives(triangle);
    this.drives(saw);
    this.drives(pulse);
  }

  /** Sets the pulse's width for the sample to come by the volts at its jack. */
  protected widenTo(volts: f64): void {
    const width = this.setWidth + WIDTH_PER_VOLT * volts;
    this.widen(Math.max(NARROWEST, Math.min(width, WIDEST)));
  }
}
