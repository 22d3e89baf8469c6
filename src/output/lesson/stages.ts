/**
 * The stages of a lesson, found from the patch's own graph. Each voice is built up along its audio
 * path: a module first with nothing plugged into its control inputs, then the control voltage, then
 * the module under it.
 */

import type { Net } from '../../electrical/nets.ts';
import { Prepared } from '../../engine/prepared.ts';
import { stemsOf } from '../../engine/stems.ts';
import type { InputJack, OutputJack } from '../../modules/definition.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';

export interface Stage {
  readonly type: 'source' | 'shaped' | 'control' | 'moved' | 'pattern' | 'mix';
  readonly title: string;
  /** Where it is heard or, for a control voltage, measured. */
  readonly jack: JackRef;
  /** The patch as far as it is built; stages of the same patch share what is worked out of it. */
  readonly of: Prepared;
  /** What is new, and so explained. */
  readonly modules: readonly PatchModule[];
  /** Control inputs whose plugs are pulled for it. */
  readonly pulled?: readonly string[];
  /** Outputs of rhythm sequencers that start the voice, as `module.jack`. */
  readonly strokes: ReadonlySet<string>;
  /** What goes into it, if that was heard before: the picture shows both. */
  readonly before?: JackRef;
}

/** Finds the stages, in the order in which they are taught. Empty if nothing reaches the output. */
export function stagesOf(patch: Patch): readonly Stage[] {
  return new Builder(patch).stages();
}

class Builder {
  private readonly patch: Patch;
  private readonly prepared: Prepared;
  private readonly at: (ref: JackRef) => Net | undefined;
  private readonly found: Stage[] = [];
  private readonly taught = new Set<PatchModule>();
  private readonly shown = new Set<Net>();

  constructor(patch: Patch) {
    this.patch = patch;
    this.prepared = new Prepared(patch);
    this.at = this.prepared.nets.at;
  }

  stages(): readonly Stage[] {
    // Left and right of one panner are one voice.
    const voices = stemsOf(this.prepared).filter(
      ({ jack }, index, all) => all.findIndex((one) => one.jack.module === jack.module) === index,
    );
    const output = this.patch.modules.find(({ definition }) => definition.role === 'output');
    if (voices.length === 0 || output === undefined) return [];
    for (const { jack } of voices) {
      const module = this.named(jack.module);
      const strokes = this.strokesOf(module);
      this.build(module, jack.jack, strokes);
      if (voices.length === 1) continue;
      this.add({ type: 'pattern', title: `In the pattern: ${jack.module}`, jack, strokes });
    }
    const one = voices.length === 1;
    this.add({
      type: 'mix',
      title: one ? 'In the pattern, and so the whole mix' : 'In the mix',
      jack: { module: output.name, jack: 'left' },
      strokes: new Set(),
    });
    return this.found;
  }

  /** Teaches what comes before a module, then the module, heard at one of its outputs. */
  private build(last: PatchModule, heardAt: string, strokes: ReadonlySet<string>): void {
    const left = [{ module: last, output: heardAt }];
    const begun = new Set<PatchModule>();
    for (let next = left.at(-1); next !== undefined; next = left.at(-1)) {
      const { module, output } = next;
      if (this.taught.has(module)) {
        left.pop();
        // What came before it has been taught meanwhile.
        if (begun.delete(module)) this.teach(module, output, strokes);
        continue;
      }
      this.taught.add(module);
      begun.add(module);
      for (const { module: source, jack } of this.soundInto(module).toReversed())
        if (!this.taught.has(source)) left.push({ module: source, output: jack.name });
    }
  }

  private soundInto(module: PatchModule): ReturnType<Builder['driversOf']> {
    return inputsOf(module, ['audio']).flatMap((input) =>
      this.driversOf(module, input).filter(({ jack }) => jack.signal === 'audio'),
    );
  }

  private teach(module: PatchModule, output: string, strokes: ReadonlySet<string>): void {
    const sources = this.soundInto(module);
    const jack = { module: module.name, jack: output };
    const [first] = sources;
    const before =
      sources.length === 1 && first !== undefined
        ? { before: { module: first.module.name, jack: first.jack.name } }
        : {};
    const controls = inputsOf(module, ['control', 'pitch']).filter(
      (input) => this.driversOf(module, input).length > 0,
    );
    const { kind, effect } = module.definition;
    const isSum = module.definition.sums !== undefined;
    const isShut = isShutWithout(module, controls);
    // A mixer with one plug in it changes nothing but the level.
    if (!isShut && !(isSum && sources.length < 2))
      this.add({
        type: sources.length === 0 ? 'source' : 'shaped',
        title: `${sources.length === 0 ? 'The source alone' : (effect ?? `Through the ${kind}`)}: ${module.name}`,
        jack,
        of: this.unplugged(module, controls),
        modules: [module],
        ...(controls.length > 0 && { pulled: controls.map(({ name }) => name) }),
        strokes,
        ...before,
      });
    if (controls.length === 0) return;
    const isEnveloped = controls.map((input) => this.teachControl(module, input, strokes));
    const opened =
      effect ?? (isEnveloped.includes(true) ? 'Enveloped' : 'Under the control voltage');
    const moved = isShut ? opened : 'Moved by the control voltage';
    this.add({
      type: 'moved',
      title: `${moved}: ${module.name}`,
      jack,
      // An amplifier was not heard without its control voltage.
      modules: isShut ? [module] : [],
      strokes,
      ...before,
    });
  }

  /** Shows what drives a control input, once. @returns whether an envelope has a part in it. */
  private teachControl(
    module: PatchModule,
    input: InputJack,
    strokes: ReadonlySet<string>,
  ): boolean {
    const net = this.at({ module: module.name, jack: input.name }) as Net;
    const makers = this.makersOf(net);
    const isEnveloped = makers[0]?.definition.course !== undefined;
    if (this.shown.has(net)) return isEnveloped;
    this.shown.add(net);
    const fresh = makers.filter((maker) => !this.taught.has(maker));
    for (const maker of fresh) this.taught.add(maker);
    const [main = net.outputs[0]?.module] = makers;
    this.add({
      type: 'control',
      title: `The control voltage: ${main?.name ?? jackName({ module: module.name, jack: input.name })}`,
      jack: { module: module.name, jack: input.name },
      modules: fresh,
      strokes,
    });
    return isEnveloped;
  }

  /** The modules that make a control voltage, those furthest from the input first. */
  private makersOf(net: Net): PatchModule[] {
    const found = new Set<PatchModule>();
    const driving = ({ outputs }: Net): PatchModule[] =>
      outputs.map(({ module }) => module).toReversed();
    const left = driving(net);
    for (let module = left.pop(); module !== undefined; module = left.pop()) {
      if (module.definition.role === 'score' || found.has(module)) continue;
      found.add(module);
      for (const input of inputsOf(module, ['audio', 'control', 'pitch']).toReversed()) {
        const next = this.at({ module: module.name, jack: input.name });
        for (const driver of next === undefined ? [] : driving(next)) left.push(driver);
      }
    }
    return [...found].toReversed().sort((a, b) => makerRank(a) - makerRank(b));
  }

  /** Every output of a rhythm sequencer, but for accents, that a module depends on. */
  private strokesOf(module: PatchModule): ReadonlySet<string> {
    const strokes = new Set<string>();
    const seen = new Set<PatchModule>();
    const wave = [module];
    for (let next = wave.pop(); next !== undefined; next = wave.pop()) {
      if (seen.has(next)) continue;
      seen.add(next);
      for (const input of inputsOf(next)) {
        if (input.rise === 'resets' || input.rise === 'ends') continue;
        for (const { module: driver, jack } of this.driversOf(next, input)) {
          if (driver.definition.role !== 'score') wave.push(driver);
          else if (jack.signal === 'gate')
            strokes.add(jackName({ module: driver.name, jack: jack.name }));
        }
      }
    }
    return strokes;
  }

  private driversOf(
    module: PatchModule,
    input: InputJack,
  ): readonly { readonly module: PatchModule; readonly jack: OutputJack }[] {
    return this.at({ module: module.name, jack: input.name })?.outputs ?? [];
  }

  private unplugged(module: PatchModule, inputs: readonly InputJack[]): Prepared {
    const pulled = new Set(inputs.map(({ name }) => name));
    const cables = this.patch.cables.filter(
      ({ to }) => to.module !== module.name || !pulled.has(to.jack),
    );
    return new Prepared({ ...this.patch, cables });
  }

  private named(name: string): PatchModule {
    return this.patch.modules.find((module) => module.name === name) as PatchModule;
  }

  private add(stage: Omit<Stage, 'of' | 'modules'> & Partial<Stage>): void {
    this.found.push({ of: this.prepared, modules: [], ...stage });
  }
}

function inputsOf(module: PatchModule, signals?: readonly string[]): readonly InputJack[] {
  return module.jacks.filter(
    (jack): jack is InputJack =>
      jack.direction === 'in' && (signals === undefined || signals.includes(jack.signal)),
  );
}

/** Whether nothing is heard of a module until one of these control inputs has its volts, as of an amplifier. */
function isShutWithout(
  { definition, settings }: PatchModule,
  controls: readonly InputJack[],
): boolean {
  const names = controls.map(({ name }) => name);
  return (definition.needs?.(settings) ?? []).some(({ inputs }) =>
    inputs.every((input) => names.includes(input)),
  );
}

/**
 * Which module a control voltage is named after, the lowest first: one that makes it from sound, an envelope,
 * others, and last attenuators, which only scale it.
 */
function makerRank(module: PatchModule): number {
  const { definition, jacks } = module;
  const givesSound = jacks.some(({ direction, ...jack }) => {
    return direction === 'out' && 'signal' in jack && jack.signal === 'audio';
  });
  if (!givesSound && inputsOf(module, ['audio']).length > 0) return 0;
  if (definition.course !== undefined) return 1;
  return definition.sums === undefined ? 2 : 3;
}
