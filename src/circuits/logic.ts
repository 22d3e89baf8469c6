/** Logic: combines two gates. Equation and source: src/modules/logic.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { TriggerInput } from './dsp/trigger-input';

export class Logic extends Circuit {
  private readonly as: StaticArray<f64>;
  private readonly bs: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly or: Wire | null;
  private readonly and: Wire | null;
  private readonly exclusive: Wire | null;
  private readonly not: Wire | null;
  private readonly a: TriggerInput;
  private readonly b: TriggerInput;
  private readonly level: f64;

  constructor(
    a: Wire,
    b: Wire,
    or: Wire | null,
    and: Wire | null,
    exclusive: Wire | null,
    not: Wire | null,
    level: f64,
    aInput: TriggerInput,
    bInput: TriggerInput,
  ) {
    super();
    this.as = a.volts;
    this.bs = b.volts;
    this.or = or;
    this.and = and;
    this.exclusive = exclusive;
    this.not = not;
    this.level = level;
    this.a = aInput;
    this.b = bInput;
    this.reads(a);
    this.reads(b);
    this.drives(or);
    this.drives(and);
    this.drives(exclusive);
    this.drives(not);
  }

  process(from: i32, to: i32): void {
    const as = this.as;
    const bs = this.bs;
    const or = voltsOf(this.or);
    const and = voltsOf(this.and);
    const exclusive = voltsOf(this.exclusive);
    const not = voltsOf(this.not);
    const orHigh = this.level * gainOf(this.or);
    const andHigh = this.level * gainOf(this.and);
    const exclusiveHigh = this.level * gainOf(this.exclusive);
    const notHigh = this.level * gainOf(this.not);
    const a = this.a;
    const b = this.b;
    for (let i = from; i < to; i++) {
      a.run(as[i]);
      b.run(bs[i]);
      const isA = a.on;
      const isB = b.on;
      or[i] = isA || isB ? orHigh : 0;
      and[i] = isA && isB ? andHigh : 0;
      exclusive[i] = isA != isB ? exclusiveHigh : 0;
      not[i] = isA ? 0 : notHigh;
    }
  }

  rests(_samples: i32): bool {
    return this.a.rests && this.b.rests;
  }
}
