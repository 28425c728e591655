/** The core problem's instance and solution files, as its specification has them. Minutes from the start of the horizon. */
export interface CoreInstance {
  readonly name: string;
  readonly seed: number;
  readonly horizon: number;
  readonly mixers: readonly { id: string; maxKg: number }[];
  readonly shelfTubs: number;
  readonly crew: readonly { from: number; to: number; heads: number }[];
  readonly proofPans: number;
  readonly kettles: readonly { id: string; piecesPerDip: number; cycleSec: number }[];
  readonly decks: readonly {
    id: string;
    pans: number;
    coldStartMin: number;
    upCPerMin: number;
    downCPerMin: number;
  }[];
  readonly coolPans: number;
  readonly outages: readonly { unit: string; from: number; to: number }[];
  readonly batches: readonly { id: string; mixMin: number; kg: number; retardMin: number; retardMax: number }[];
  readonly loads: readonly CoreLoad[];
}

export interface CoreLoad {
  readonly id: string;
  readonly batch: string;
  readonly pans: number;
  readonly pieces: number;
  readonly tubs: number;
  readonly temperMin: number;
  readonly shapeMin: number;
  readonly proofMin: number;
  readonly proofMax: number;
  readonly boil: boolean;
  readonly boilToBakeMax: number;
  readonly bakeMin: number;
  readonly bakeC: number;
  readonly coolMin: number;
  readonly due: number;
  readonly weight: number;
}

export interface CoreSolution {
  batches: Record<string, { mixer: string; start: number }>;
  loads: Record<
    string,
    { temper: number; shape: number; kettle?: string; boil?: number; deck: string; bake: number } | null
  >;
  objective: number;
}
