/** Keeps versions: without duplicates, named, compared with the first, and in blind tests. */

import { haveSameTexts, type PatchTexts } from '../../../patch/texts.ts';
import { BlindTest } from '../../pieces/blind.ts';
import type { Player } from '../../pieces/player.ts';
import type { Store } from '../../pieces/store.ts';
import type { SpectraView, SpectrumOf } from '../../protocol.ts';
import type { SheetState } from '../sheet-state.ts';
import { type Listening, wholeMix } from '../strip/listening.ts';
import { freeName, MOST_VERSIONS, type Version } from './bank.ts';
import type { Comparing } from './comparing.ts';

/** Letters of a version's name that are kept. */
const LONGEST_NAME = 200;

/** What keeping versions needs from the worksheet. */
export interface KeepingPlace {
  readonly store: Store<SheetState>;
  readonly player: Player;
  readonly listening: Listening;
  readonly comparing: Comparing;
  /** Waits for what is on its way and changes what is heard. */
  readonly arrived: () => Promise<void>;
  /** Takes other texts once all changes on their way are made, as a step that can be undone. */
  readonly goOn: (files: PatchTexts, what: string) => Promise<void>;
}

export class Keeping {
  readonly blind: BlindTest;
  private readonly place: KeepingPlace;
  private count = 0;
  /** Versions that are being worked on. */
  private readonly underWay = new Set<string>();

  constructor(place: KeepingPlace) {
    this.place = place;
    const { store, player, listening } = place;
    this.blind = new BlindTest({
      store,
      ready: async (id) => {
        const isHeard = this.named(id)?.loop?.isWhole === true;
        if (!isHeard) this.say('Hear both once, to the end of their loop, before the blind test.');
        return isHeard;
      },
      sound: () => {
        listening.level();
        player.play();
      },
      silence: () => player.stop(),
      title: (id) => this.named(id)?.name ?? '',
      tell: (message) => this.say(message),
      ended: () => listening.level(),
    });
    store.listen(() => this.complete());
  }

  private get now(): SheetState {
    return this.place.store.now;
  }

  private named(id: number): Version | undefined {
    return this.now.versions.find((version) => version.id === id);
  }

  /** Keeps what plays. @param typed its name; if empty, the page gives one. @returns whether a new version is kept. */
  async keep(typed: string): Promise<boolean> {
    await this.place.arrived();
    const { heard, view } = this.now;
    // While a voice is heard alone, or the sound is on its way, only the texts are kept; their sound follows with the mix.
    const loop = wholeMix(this.now);
    if (heard === undefined) {
      this.say('There is nothing to keep: no patch has been read yet.');
      return false;
    }
    const twin = await this.twinOf(heard);
    if (twin !== undefined) {
      this.say(
        `This is kept already, as ${twin.name}: it is patched and set alike, and plays the same. Only the wording of its file differs.`,
      );
      return false;
    }
    // Another version may have been kept meanwhile.
    const name = typed || freeName(this.now.versions);
    return this.put({ name, files: heard, view, loop });
  }

  /** A kept version of other texts that is patched and set alike. */
  private async twinOf(files: PatchTexts): Promise<Version | undefined> {
    const others = this.now.versions.filter((version) => !haveSameTexts(version.files, files));
    const all = await Promise.all(
      others.map(({ files: other }) => this.place.comparing.moves(other, files)),
    );
    return others[all.findIndex((moves) => moves?.length === 0)];
  }

  /** Keeps texts as a version, unless the same texts are kept. */
  put({ name, ...parts }: Omit<Version, 'id' | 'told' | 'figures'>): boolean {
    const { versions } = this.now;
    const twin = versions.find(({ files }) => haveSameTexts(files, parts.files));
    if (twin !== undefined) {
      this.say(`This is kept already, as ${twin.name}.`);
      return false;
    }
    if (versions.length >= MOST_VERSIONS) {
      this.say('Nine versions are kept already; remove one first.');
      return false;
    }
    this.count += 1;
    const version = { ...parts, id: this.count, name: name.slice(0, LONGEST_NAME) };
    this.place.store.put({ versions: [...versions, version] });
    this.say(`Kept: ${version.name}.`);
    this.place.listening.level();
    return true;
  }

  /** Continues with a kept version, at the same place of the loop. */
  async hear(version: Version): Promise<void> {
    const { store, listening, goOn } = this.place;
    await goOn(version.files, `version ${version.id}`);
    // The kept sound is ready; the engine's own comes later and is the same.
    const { probe, solo } = this.now;
    if (version.loop !== undefined && probe === undefined && solo === undefined) {
      store.put({ loop: version.loop });
      listening.level();
    }
    this.say(`Sounding: ${version.name}.`);
  }

  /** Gives it another name; an empty name is ignored. */
  rename(version: Version, name: string): void {
    const is = name.trim().slice(0, LONGEST_NAME);
    if (is === '' || is === version.name) return;
    this.change(version.id, { name: is });
    this.say(`${version.name} is called ${is} now.`);
  }

  remove({ id, name }: Version): void {
    this.place.store.put({ versions: this.now.versions.filter((version) => version.id !== id) });
    this.say(`Removed: ${name}.`);
    this.place.listening.level();
  }

  /** Draws spectra over one another; undefined if there are none. */
  async spectra(of: readonly SpectrumOf[], isEqual: boolean): Promise<SpectraView | undefined> {
    return of.length === 0 ? undefined : await this.place.comparing.spectra(of, isEqual);
  }

  /** Works out the comparisons and figures that are missing. */
  private complete(): void {
    const { versions } = this.now;
    const [first] = versions;
    if (first === undefined) return;
    for (const version of versions) {
      if (version.id !== first.id && version.told?.beside !== first.id)
        void this.tell(first, version);
      if (version.figures === undefined && version.loop?.loudnessLufs !== undefined)
        void this.measure(version);
    }
  }

  private async tell(first: Version, { id, files }: Version): Promise<void> {
    const work = `${first.id} ${id}`;
    if (this.underWay.has(work)) return;
    this.underWay.add(work);
    const moves = await this.place.comparing.moves(first.files, files);
    this.underWay.delete(work);
    this.change(id, { told: { beside: first.id, moves } });
  }

  private async measure({ id, loop, view }: Version): Promise<void> {
    const work = `figures ${id}`;
    if (this.underWay.has(work) || loop === undefined || view === undefined) return;
    this.underWay.add(work);
    const figures = await this.place.comparing.figures(loop, view.loop.sampleRate);
    // A version that cannot be measured is not tried again.
    if (figures !== undefined) this.change(id, { figures });
  }

  private change(id: number, parts: Partial<Version>): void {
    this.place.store.put({
      versions: this.now.versions.map((version) =>
        version.id === id ? { ...version, ...parts } : version,
      ),
    });
  }

  private say(message: string): void {
    this.place.store.put({ message });
  }
}
