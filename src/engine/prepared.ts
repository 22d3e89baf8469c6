/**
 * A patch with what is worked out of it, each once, when it is first wanted: its nets and their levels, the plan
 * of its render, and its control path. Code that plays, checks and draws a patch hands this on, so that nothing is worked out
 * twice.
 */

import { type NetLevels, patchLevels, type Ranges, rangesOf } from '../electrical/levels.ts';
import { type Netlist, netlist } from '../electrical/nets.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { type ControlPath, controlPath } from './control-path.ts';
import { type Plan, plan } from './plan.ts';

/**
 * A patch, and what is worked out of it when it is first wanted. Takes the place of the patch wherever one is
 * played, checked or drawn.
 */
export class Prepared {
  /** As it was given; it must not be changed. */
  readonly patch: Patch;
  private knownNets: Netlist | undefined;
  private knownRanges: Ranges | undefined;
  private knownLevels: readonly NetLevels[] | undefined;
  private knownPlan: Plan | undefined;
  private knownControl: ControlPath | undefined;
  private knownPath: Prepared | undefined;
  /** By the jacks of the leads. */
  private readonly probed = new Map<string, { readonly nets: Netlist; plan?: Plan }>();

  /** @param patch a checked patch, which is not changed from then on. */
  constructor(patch: Patch) {
    this.patch = patch;
  }

  /** Its nets: outputs and inputs that cables and multiples join. */
  get nets(): Netlist {
    this.knownNets ??= netlist(this.patch);
    return this.knownNets;
  }

  /** The levels of its outputs, with everything as it is stated. */
  get ranges(): Ranges {
    this.knownRanges ??= rangesOf(this.patch, this.nets, 0);
    return this.knownRanges;
  }

  /** The levels of its nets, with everything as it is stated. */
  get levels(): readonly NetLevels[] {
    this.knownLevels ??= patchLevels(this.patch, 0, this.nets);
    return this.knownLevels;
  }

  /** Its nets, with one for each of these jacks that no plug is in, as a meter's lead makes it. */
  netsWith(probes: readonly JackRef[]): Netlist {
    return this.leadsOf(probes)?.nets ?? this.nets;
  }

  /** The nets with some leads, and the plan that they have; undefined where plugs are in all of these jacks. */
  private leadsOf(probes: readonly JackRef[]): { readonly nets: Netlist; plan?: Plan } | undefined {
    const free = probes.filter((jack) => this.nets.at(jack) === undefined);
    if (free.length === 0) return undefined;
    const key = free.map(jackName).join(' ');
    const known = this.probed.get(key) ?? { nets: netlist(this.patch, free) };
    this.probed.set(key, known);
    return known;
  }

  /** What leads to its trigger inputs. */
  get control(): ControlPath {
    this.knownControl ??= controlPath(this.patch, this.nets);
    return this.knownControl;
  }

  /** Its control path as a patch of its own, to be played. */
  get path(): Prepared {
    this.knownPath ??= new Prepared(this.control.patch);
    return this.knownPath;
  }

  /**
   * The plan of a render.
   * @param probes jacks whose volts are wanted.
   * @param runs names of the modules that run; all unless given.
   */
  plan(probes: readonly JackRef[], runs?: ReadonlySet<string>): Plan {
    const leads = this.leadsOf(probes);
    if (runs !== undefined) return plan(this.patch, leads?.nets ?? this.nets, runs);
    if (leads !== undefined) {
      leads.plan ??= plan(this.patch, leads.nets);
      return leads.plan;
    }
    this.knownPlan ??= plan(this.patch, this.nets);
    return this.knownPlan;
  }
}

/** Prepares a patch; what is prepared already is given back. */
export function prepared(of: Patch | Prepared): Prepared {
  return of instanceof Prepared ? of : new Prepared(of);
}
