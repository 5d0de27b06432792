// What a column of the shop's export means: where its cells go in a record, and how they are read.

type Read = (text: string) => unknown;

/** A cell that cannot be read; says what would be. */
export class CellError extends Error {}

const text: Read = (given) => given;

const number: Read = (given) => {
  if (/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(given)) return Number(given);
  const hint = /^[+-]?\d+,\d+$/.test(given)
    ? ` with a point, ${given.replace(',', '.')}`
    : ' such as 12 or 0.85, without a unit';
  throw new CellError(`got ${JSON.stringify(given)}, accepted: a number${hint}`);
};

const oneOf =
  (words: Record<string, string>): Read =>
  (given) => {
    const found = words[given.toLowerCase()];
    if (found !== undefined) return found;
    throw new CellError(`got ${JSON.stringify(given)}, accepted: ${Object.keys(words).join(', ')}`);
  };

/** Where the cells of a column go in a winding record, by the names of the contract. */
export const columns: Record<string, { readonly path: string; readonly read: Read }> = {
  Motor: { path: 'title', read: text },
  Kind: {
    path: 'machine.kind',
    read: oneOf({
      induction: 'MACHINE_KIND_INDUCTION',
      servo: 'MACHINE_KIND_PERMANENT_MAGNET',
      dc: 'MACHINE_KIND_DC_ARMATURE',
    }),
  },
  Volts: { path: 'machine.nameplate.rated_volts', read: number },
  Hz: { path: 'machine.nameplate.frequency_hz', read: number },
  kW: { path: 'machine.nameplate.rated_power.kw', read: number },
  Amps: { path: 'machine.nameplate.line_amps_rms', read: number },
  rpm: { path: 'machine.nameplate.speed_rpm', read: number },
  Poles: { path: 'machine.nameplate.poles', read: number },
  Year: { path: 'machine.nameplate.built_year', read: number },
  'Bore mm': { path: 'machine.core.bore_diameter.mm', read: number },
  'Stack mm': { path: 'machine.core.stack_length.mm', read: number },
  Slots: { path: 'machine.core.slots', read: number },
  'Slot mm2': { path: 'machine.slot.shape.measured_area.mm2', read: number },
  Coils: {
    path: 'winding.coil_form',
    read: oneOf({
      lap: 'COIL_FORM_LAP',
      concentric: 'COIL_FORM_CONCENTRIC',
      chain: 'COIL_FORM_CHAIN',
      tooth: 'COIL_FORM_TOOTH_COIL',
    }),
  },
  Layers: { path: 'winding.layers', read: oneOf({ 1: 'LAYERS_SINGLE', 2: 'LAYERS_DOUBLE' }) },
  Pitch: { path: 'winding.coil_pitch_slots', read: number },
  Turns: { path: 'winding.turns_per_coil', read: number },
  Circuits: { path: 'winding.parallel_circuits', read: number },
  Connection: { path: 'winding.connection', read: oneOf({ star: 'CONNECTION_STAR', delta: 'CONNECTION_DELTA' }) },
  Wire: { path: 'winding.strands[0].wire.designation', read: text },
  'In hand': { path: 'winding.strands[0].wires_in_hand', read: number },
  'Mean turn mm': { path: 'winding.mean_turn.mm', read: number },
  Ohms: { path: 'measured.resistance.u_v_ohms', read: number },
  'At C': { path: 'measured.resistance.winding_temperature.celsius', read: number },
};

/** Puts a value where a path such as "winding.strands[0].wires_in_hand" leads. */
export function put(into: object, path: string, value: unknown): void {
  const steps = path.split(/[.[\]]+/).map((step) => (/^\d+$/.test(step) ? Number(step) : step));
  let at = into as Record<string | number, unknown>;
  steps.forEach((step, i) => {
    if (i === steps.length - 1) at[step] = value;
    else at = (at[step] ??= typeof steps[i + 1] === 'number' ? [] : {}) as Record<string | number, unknown>;
  });
}

/** The column that a field of a request came from: the service may name what is around the value, or inside it. */
export function columnOf(field: string): string | undefined {
  const below = field.replace(/^record\./, '');
  const part = (whole: string, start: string) =>
    whole === start || whole.startsWith(`${start}.`) || whole.startsWith(`${start}[`);
  return Object.keys(columns).find((name) => part(columns[name]!.path, below) || part(below, columns[name]!.path));
}
