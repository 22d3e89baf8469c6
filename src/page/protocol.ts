/**
 * The messages between the page and its engine. The page is the thread that draws and plays; the engine
 * is a worker that reads, checks and renders with the same code as the command line. Plain data only:
 * a structured clone carries it.
 *
 * The texts of the files are the only source of truth. Moving a setting is a change of text; the engine makes it
 * (`patch/edit`), reads the texts again and answers with both the texts and what they say. Undo is
 * sending earlier texts.
 */

import type { VariantMeasures } from '../compare/measures.ts';
import type { LoudnessStep } from '../measure/loudness/gates.ts';
import type { StepMark } from '../output/sheet/step-sign.ts';
import type { Solo } from '../output/strokes/solo.ts';
import type { PatchTexts } from '../patch/texts.ts';

export type { Solo };

/** A change that a person makes. */
export type PatchChange =
  /** Another value for a setting, as the file writes it: `80 ms`, `high`, `dial 3.4`. */
  | {
      readonly type: 'setting';
      readonly module: string;
      readonly setting: string;
      readonly text: string;
    }
  /** Other steps, as drum tab, for a channel of a pattern. */
  | {
      readonly type: 'steps';
      readonly module: string;
      readonly pattern: string;
      readonly channel: string;
      readonly steps: string;
    }
  /** An attribute that a place of the score has of its own, as the file writes it; an empty text removes it. */
  | {
      readonly type: 'word';
      readonly module: string;
      readonly at: ScorePlace;
      readonly word: string;
      readonly text: string;
    }
  /** Another order of the song. `turn` counts up, since each such change is undone by itself. */
  | {
      readonly type: 'song';
      readonly module: string;
      readonly turn: number;
      readonly edit: SongEdit;
    };

/** The places in a rhythm that may have attributes of their own. Steps count from 1, as in the file, entries from 0. */
export type ScorePlace =
  | { readonly type: 'pattern'; readonly pattern: string }
  | { readonly type: 'line'; readonly pattern: string; readonly channel: string }
  | {
      readonly type: 'step';
      readonly pattern: string;
      readonly channel: string;
      readonly step: number;
    }
  | { readonly type: 'entry'; readonly entry: number };

/** Entries count from 0. */
export type SongEdit =
  /** Adds a pattern, before the entry at that place or at the end. */
  | { readonly type: 'insert'; readonly at: number; readonly pattern: string }
  | { readonly type: 'remove'; readonly at: number }
  /** `to` is its place afterwards. */
  | { readonly type: 'move'; readonly from: number; readonly to: number };

/** Where playing begins, if not at the start of the song. */
export type From =
  /**
   * At an entry of the song of a rhythm, counted from 0, as it sounds there in the song; `alone`
   * repeats that entry.
   */
  | {
      readonly type: 'entry';
      readonly module: string;
      readonly entry: number;
      readonly alone?: boolean;
    }
  /** At a bar of the song, counted from 1, as it sounds there in the song. */
  | { readonly type: 'bar'; readonly bar: number }
  /** At one of its patterns, which plays alone. */
  | { readonly type: 'pattern'; readonly module: string; readonly pattern: string };

/** A channel of a rhythm sequencer. */
export interface ChannelName {
  readonly module: string;
  readonly channel: string;
}

/**
 * Shares of a loop: where a change starts to be heard, and up to where it must be rendered for that; over 1 is the
 * next round.
 */
export interface Hearing {
  readonly at: number;
  readonly until: number;
}

/** A stroke of a channel, with one voice heard. */
export interface StrokeWish extends ChannelName {
  readonly voice: string;
  readonly isAccented: boolean;
}

/** From the page to the engine. `id` counts up; every answer names the request that it is for. */
export type EngineRequest =
  /** Take these texts: the first ones, those of a version, of an undo, or of the file on disk. */
  | { readonly type: 'open'; readonly id: number; readonly files: PatchTexts }
  /** A change; `heard` says where it is to be heard first. Without it the sound is sent as it is rendered. */
  | {
      readonly type: 'change';
      readonly id: number;
      readonly change: PatchChange;
      readonly heard?: Hearing;
    }
  /**
   * How much plays as a loop; `undefined` is the song, as `render --loop` plays it. And from where;
   * `undefined`, or a place that the patch does not have, is its start.
   */
  | {
      readonly type: 'length';
      readonly id: number;
      readonly bars: number | undefined;
      readonly from?: From | undefined;
    }
  /** Listen at a jack in place of the mix; `undefined` ends that. */
  | { readonly type: 'probe'; readonly id: number; readonly jack: string | undefined }
  /** Whose envelope and spectrum are drawn: the name of a voice, or the mix. */
  | { readonly type: 'voice'; readonly id: number; readonly voice: string | undefined }
  /** What is heard of the mix: one voice, all but one, or all. */
  | { readonly type: 'solo'; readonly id: number; readonly solo: Solo | undefined }
  /** Play one stroke, beside all other work. */
  | { readonly type: 'stroke'; readonly id: number; readonly stroke: StrokeWish }
  /** The clip as a WAV file, the bytes that `forehear render --loop` would write. */
  | { readonly type: 'clip'; readonly id: number }
  /** Ask for the moves that make one version into another. */
  | {
      readonly type: 'moves';
      readonly id: number;
      readonly first: PatchTexts;
      readonly other: PatchTexts;
    }
  /** Measure a loop, of 1.0 as full scale. */
  | {
      readonly type: 'figures';
      readonly id: number;
      readonly channels: readonly Float32Array[];
      readonly sampleRate: number;
    }
  /** Draw spectra over one another, at their own levels or made equally loud. */
  | {
      readonly type: 'spectra';
      readonly id: number;
      readonly of: readonly SpectrumOf[];
      readonly isEqual: boolean;
    }
  /**
   * Ask about a cable, by its name, with the cables before it in patching order plugged in. `undefined`, or a
   * cable that is gone, stands for the first that is not `done`.
   */
  | {
      readonly type: 'along';
      readonly id: number;
      readonly cable: string | undefined;
      readonly done: readonly string[];
    };

/** From the engine to the page. */
export type EngineAnswer =
  | { readonly type: 'state'; readonly id: number; readonly state: TextsState }
  /** A change that cannot be made; the texts are unchanged. */
  | { readonly type: 'refused'; readonly id: number; readonly message: string }
  /** A stretch of the loop, as soon as it is rendered; newer requests end older ones. */
  | { readonly type: 'sound'; readonly id: number; readonly sound: SoundStretch }
  /** How much of the way to a later place of the song has been played, as a share, until its sound comes. */
  | { readonly type: 'way'; readonly id: number; readonly share: number }
  | {
      readonly type: 'findings';
      readonly id: number;
      readonly parts: Parts;
      /** The finding shown where the person works; absent if there is nothing worse than a note. */
      readonly told?: FindingView;
    }
  /** What would mend the finding that was sent last for this request. */
  | { readonly type: 'mend'; readonly id: number; readonly mend: MendView }
  | {
      readonly type: 'charts';
      readonly id: number;
      readonly charts: readonly ChartView[];
      /** Why there is nothing to draw. */
      readonly lack?: string;
      /** The level of the voice that the charts show; absent for the mix. */
      readonly level?: VoiceLevel;
    }
  | {
      readonly type: 'stroke';
      readonly id: number;
      readonly stroke: StrokeWish;
      readonly sampleRate: number;
      /** 1.0 is full scale; empty where nothing is heard. */
      readonly channels: readonly Float32Array<ArrayBuffer>[];
    }
  | {
      readonly type: 'score';
      readonly id: number;
      readonly score: readonly ScoreView[];
      readonly parts: Parts;
    }
  | { readonly type: 'outline'; readonly id: number; readonly outline: OutlineView }
  | { readonly type: 'clip'; readonly id: number; readonly wav: Uint8Array }
  /** Without moves where one of the two is not a valid patch. */
  | { readonly type: 'moves'; readonly id: number; readonly moves?: readonly MoveView[] }
  | { readonly type: 'figures'; readonly id: number; readonly figures: VersionFigures }
  | { readonly type: 'spectra'; readonly id: number; readonly spectra: SpectraView }
  | { readonly type: 'along'; readonly id: number; readonly along: AlongView }
  /** What should be heard at that cable, once it is played. */
  | { readonly type: 'along-heard'; readonly id: number; readonly heard: AlongHeard }
  /** Forehear itself failed: a mistake of ours, reported as it is. */
  | { readonly type: 'failed'; readonly id: number; readonly message: string };

/** Markup for the elements `data-part="NAME"`, all texts in it made harmless. */
export type Parts = Readonly<Record<string, string>>;

/** The parts of the sheet that follow from the texts without playing them. */
export interface OutlineView {
  readonly parts: Parts;
  /** What the block diagrams show, as a text that can be compared. */
  readonly figures: string;
}

/** What the texts say. */
export interface TextsState {
  readonly files: PatchTexts;
  /** Empty if the texts are a patch; if not, `view` is absent and the last good sound plays on. */
  readonly problems: readonly ProblemView[];
  readonly view?: PatchView;
}

export interface ProblemView {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  /** The message with the line and its caret, as the command line prints it. */
  readonly text: string;
}

export interface PatchView {
  readonly title: string;
  readonly modules: readonly ModuleView[];
  readonly rhythms: readonly RhythmView[];
  readonly voices: readonly VoiceView[];
  /** The modules that belong to no voice. */
  readonly shared: readonly string[];
  readonly cables: readonly CableView[];
  readonly loop: LoopView;
}

/** A voice: a chapter of the page. */
export interface VoiceView {
  readonly name: string;
  /** Whether the voice is a part of the patch, and so has its own diagram. */
  readonly isPart: boolean;
  readonly modules: readonly string[];
  /** The number of jacks with a plug in them. */
  readonly jacks: number;
  /** The channels that start it. */
  readonly channels: readonly VoiceViewChannel[];
  /** The settings of its level in the mix. */
  readonly levels: readonly { readonly module: string; readonly setting: string }[];
}

export interface VoiceViewChannel extends ChannelName {
  /** Its note in a MIDI file, and of a MIDI pad. */
  readonly note: number;
}

/** A cable, numbered from 1 in patching order. */
export interface CableView {
  readonly number: number;
  readonly from: string;
  readonly to: string;
}

export interface VoiceLevel {
  readonly voice: string;
  /** Integrated loudness of the voice in the mix, LUFS; absent where it is silent, or cannot be measured. */
  readonly lufs?: number;
  /** Whether it cannot be measured: the voice passes through shared modules that do more than add. */
  readonly isUntold?: boolean;
  /** LU under the whole; absent where the two cannot be compared. */
  readonly under?: number;
}

export interface LoopView {
  readonly sampleRate: number;
  readonly frames: number;
  /** Times of the bars' first steps, s. */
  readonly bars: readonly number[];
  /** Whether the song is longer than what is played. */
  readonly shortened: boolean;
  /** Where it begins in the song, s, and the number of its first bar. */
  readonly start: number;
  readonly firstBar: number;
  readonly played: readonly PlayedView[];
}

/** A pattern played once. */
export interface PlayedView {
  readonly module: string;
  readonly pattern: string;
  /** The entry of the song from 0, how often it has played before, and how often it plays in all. */
  readonly entry: number;
  readonly repeat: number;
  readonly repeats: number;
  /** s from the start of the loop. */
  readonly start: number;
  readonly end: number;
  /** Length of a straight step, s, and where the off-step of a pair comes in it. */
  readonly step: number;
  readonly swing: number;
}

export interface ModuleView {
  readonly name: string;
  readonly kind: string;
  readonly about: string;
  readonly unit?: string;
  readonly settings: readonly SettingView[];
}

export interface SettingView {
  readonly name: string;
  readonly about: string;
  /** The value as the file writes it. */
  readonly text: string;
  /** Whether the patch gives the value, rather than leaving the default. */
  readonly isGiven: boolean;
  /** The default, as the file would write it; absent where it is a list. */
  readonly usual?: string;
  /** The value in another form: notes as volts, volts as notes, or where 1 V at its input moves it to. */
  readonly reading?: string;
  /** The position of the rack's dial for it. */
  readonly dial?: string;
  /** Whether the patch gives the value as a dial position. */
  readonly isDialGiven?: boolean;
  readonly control: Control;
}

/** How a setting is moved. */
export type Control =
  /** Along a scale between two ends: position 0 to 1 and back are worked out by `page/scale`. */
  | {
      readonly type: 'number';
      readonly quantity: string;
      readonly value: number;
      readonly min: number;
      readonly max: number;
      readonly fallback: number;
      readonly units: readonly string[];
      /** Present for a feedback share: its scale goes by how long the loop rings. */
      readonly rings?: true;
    }
  | { readonly type: 'choice'; readonly options: readonly string[] }
  /** Only typed. `sort` is the sort of value, where a bare number can be completed. */
  | {
      readonly type: 'text';
      readonly expected: string;
      readonly sort?: 'span' | 'rate' | 'pitches';
    };

export interface RhythmView {
  readonly module: string;
  /** The entries of the song, each as `answer × 2`. */
  readonly song: readonly string[];
  /** The entries in a form that can be changed. */
  readonly entries: readonly EntryView[];
  /** How many bars the song has, the last perhaps not whole. */
  readonly bars: number;
  /** The names of the channels, each with its note if the patch gives one. */
  readonly channels: string;
  readonly controls: WordControls;
  readonly patterns: readonly PatternView[];
}

/** The attributes that a place of the score has of its own, as the file writes them: `tempo`, `96 bpm`. */
export type Said = Readonly<Record<string, string>>;

/** The attributes that each sort of place may have. */
export type WordControls = Readonly<Record<ScorePlace['type'], readonly WordControl[]>>;

export interface WordControl {
  readonly word: string;
  readonly about: string;
  readonly control: Control;
}

export interface EntryView {
  readonly pattern: string;
  /** Includes its `repeats` where they are not 1. */
  readonly said: Said;
  /** Where it starts the first time that the song is played, both from 1; the beat may be a fraction. */
  readonly bar: number;
  readonly beat: number;
}

export interface PatternView {
  readonly name: string;
  readonly stepsPerQuarter: number;
  /** Steps of the pattern; a line with fewer repeats. */
  readonly length: number;
  /** Its attributes besides its lines, such as `tempo 96 bpm`. */
  readonly own?: string;
  /** The pattern that it starts from. */
  readonly from?: string;
  readonly said: Said;
  /** The values that apply where it has no attribute of its own. */
  readonly usual: Said;
  readonly channels: readonly ChannelView[];
}

export interface ChannelView {
  readonly name: string;
  /** One sign a step, as drum tab has it. */
  readonly steps: string;
  /** Attributes of its line besides the steps, such as `chance 70 %`. */
  readonly own?: string;
  /**
   * Whether the pattern writes the line itself; a line that comes `from` another pattern is written once it is
   * changed.
   */
  readonly isOwn: boolean;
  /** Whether it has a line at all; otherwise it rests. */
  readonly hasLine: boolean;
  readonly said: Said;
  /** Attributes of single steps, by their numbers from 1. */
  readonly at: Readonly<Record<number, Said>>;
  /** Marks of steps besides their signs, by their places from 0. */
  readonly marks: Readonly<Record<number, StepMark>>;
}

/** How loud a loop is, once it is whole. */
export interface LoopLoudness {
  /** Integrated loudness. */
  readonly loudnessLufs?: number;
  /** Its loudness at other gains. */
  readonly loudnessSteps?: readonly LoudnessStep[];
}

/** A stretch of the loop, or of the probed jack. */
export interface SoundStretch extends LoopLoudness {
  /** First frame. */
  readonly from: number;
  /** Frames of the whole loop. */
  readonly frames: number;
  /** 1.0 is full scale; left, or left and right. */
  readonly channels: readonly Float32Array[];
  /** Volts of the probed jack, if there is one. */
  readonly probe?: { readonly jack: string; readonly volts: Float32Array };
  /** Whether the loop is whole with this, tail wrapped into the head: the bytes of the command line. */
  readonly isWhole: boolean;
  readonly peakDbfs?: number;
  /** Whether it is one voice of the mix or all but one, rather than the mix. */
  readonly isPart?: boolean;
}

export interface ChartView {
  /** Which chart it is: envelope, spectrum, volts. */
  readonly name: string;
  readonly svg: string;
  readonly caption: string;
}

/** What to do, to which cable or setting, and the values before and after. */
export type MoveView = readonly [verb: string, what: string, detail: string];

export type VersionFigures = VariantMeasures;

/** A spectrum to be drawn: its name, and levels in dB over Hz, null where a band holds nothing. */
export interface SpectrumOf {
  readonly name: string;
  readonly points: readonly (readonly [hz: number, db: number | null])[];
}

export interface SpectraView {
  readonly svg: string;
  readonly caption: string;
}

/** The cables of a patch in patching order, and one of them as it is being plugged. */
export interface AlongView {
  readonly cables: readonly AlongCable[];
  /** Absent where there is no cable. */
  readonly step?: AlongStepView;
  /** Why there is none. */
  readonly lack?: string;
}

export interface AlongCable {
  /** Both ends, `module.jack module.jack`. */
  readonly name: string;
  readonly group: string;
  readonly number: number;
  readonly from: string;
  readonly to: string;
}

export interface AlongStepView {
  readonly name: string;
  readonly from: AlongEnd;
  readonly to: AlongEnd;
  /** What the cable carries, in a word or two. */
  readonly carries: string;
  /** What to measure at the jack that it goes to: when, and how many volts. */
  readonly rows: readonly (readonly [when: string, volts: string])[];
  /** How the jack responds to it, if it is a trigger input. */
  readonly trigger?: string;
  /** Possible mistakes, for when the meter shows something else. */
  readonly suspects: readonly SuspectView[];
}

export interface AlongEnd {
  readonly module: string;
  readonly jack: string;
  readonly kind: string;
  readonly about: string;
}

export interface SuspectView {
  readonly what: string;
  readonly look: string;
  /** What the meter shows with this mistake. */
  readonly shows: string;
  /** Whether a meter shows the same as without the mistake. */
  readonly isAlike: boolean;
  readonly why?: string;
}

export interface AlongHeard {
  readonly words: string;
  /** As in {@link AlongStepView}. */
  readonly rows: readonly (readonly [when: string, volts: string])[];
  /** Absent where nothing is to be heard. */
  readonly sound?: {
    /** `output`: its channels, 1.0 being full scale; `jack`: volts. */
    readonly at: 'output' | 'jack';
    readonly frames: number;
    readonly channels: readonly Float32Array<ArrayBuffer>[];
  };
}

/** The newest finding, or the worst where none is new. */
export interface FindingView {
  readonly severity: 'fault' | 'caution';
  /** How many there are: `1 fault, 2 cautions`. */
  readonly counts: string;
  /** The finding in a few words: `shape.trigger never fires`. */
  readonly headline: string;
  readonly message: string;
  /** What a person can do about it. */
  readonly fix: string;
  /** Where the finding is marked. */
  readonly at: FindingPlace;
  /** Whether a change that the person made there has caused it. */
  readonly isByHand: boolean;
}

export type FindingPlace =
  | { readonly type: 'setting'; readonly module: string; readonly setting: string }
  /** A cable by its two ends, `module.jack`. */
  | { readonly type: 'cable'; readonly from: string; readonly to: string }
  | { readonly type: 'module'; readonly module: string }
  /** For a finding without a place, such as a rack with too few cables. */
  | { readonly type: 'patch' };

export interface MendLine {
  readonly isNew: boolean;
  readonly text: string;
}

/** What `check --fix` would do about one finding. */
export interface MendView {
  /** The texts after the mend. */
  readonly files: PatchTexts;
  /** The lines that it removes and adds. */
  readonly lines: readonly MendLine[];
}

/** A picture of some bars of the score, and where time lies in it, so that a line can move over it. */
export interface ScoreView {
  readonly svg: string;
  readonly caption: string;
  /**
   * Seconds at the left and the right end of its time axis, and the positions of these ends, in units of the
   * picture.
   */
  readonly from: number;
  readonly to: number;
  readonly left: number;
  readonly right: number;
  readonly width: number;
  readonly height: number;
}

/** What `listen` serves beside the page: the page's element `host`. Addresses are from the page's own. */
export interface Host {
  /** A stream of {@link HostEvent}. */
  readonly events: string;
  /** Takes a {@link SaveRequest} as JSON, and answers with a {@link SaveAnswer}. */
  readonly save: string;
  /** Takes {@link PatchTexts} as JSON, and answers with a {@link DrawAnswer}. */
  readonly draw: string;
}

/**
 * From the host, each the data of a server-sent event. The files on the disk are sent at once, again after each
 * reconnection, and whenever they change.
 */
export type HostEvent =
  | {
      readonly type: 'files';
      /** The texts as on the disk; they may have problems. */
      readonly files: PatchTexts;
      /** Increases with every change of the files: an event with a lower one is out of date. */
      readonly edition: number;
    }
  /** A file is gone or cannot be read: the page continues with the texts that it has. */
  | { readonly type: 'unreadable'; readonly message: string }
  /** The host ends: nothing can be saved from this page any more. */
  | { readonly type: 'end' };

export interface SaveRequest {
  /** What is to be written, by the names of {@link PatchTexts}; with `as`, the main file alone. */
  readonly texts: Readonly<Record<string, string>>;
  /** What the host last sent of these files. A file that now differs on the disk is a conflict. */
  readonly before: Readonly<Record<string, string>>;
  /** Name of a new file in the patch's own folder, ending in `.yaml`. */
  readonly as?: string;
  /** Write over what has changed on the disk meanwhile. */
  readonly overwrite?: boolean;
}

export type SaveAnswer =
  /** The files written, by their paths, and the edition of the files since then. */
  | {
      readonly type: 'saved';
      readonly files: readonly string[];
      /** New files that hold others' changes that were overwritten. */
      readonly kept?: readonly string[];
      readonly edition: number;
    }
  /** Nothing was written: this file has changed on the disk, or is gone. */
  | { readonly type: 'conflict'; readonly file: string; readonly message: string }
  /** Nothing was written, or not all of it, as the message says. */
  | { readonly type: 'refused'; readonly message: string };

/** The answer with the block diagrams of some texts, which only the host can lay out. */
export type DrawAnswer =
  | {
      readonly type: 'drawn';
      /** As in {@link OutlineView}. */
      readonly figures: string;
      /** Markup for the island `diagram`. */
      readonly markup: string;
    }
  /** The texts are not a patch, or the host does not answer. */
  | { readonly type: 'refused'; readonly message: string };
