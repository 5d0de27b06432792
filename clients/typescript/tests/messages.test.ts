import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { create, fromBinary, toBinary } from '@bufbuild/protobuf';
import { AnySchema } from '@bufbuild/protobuf/wkt';

import { ServiceError, type ArchiveEntry, type Request, type WindingRecord } from 'coilwright';

import { messageNamed } from '../src/contract.js';
import { toMessage, toPlain } from '../src/messages.js';
import { Server } from './server.js';

/** What comes out at the other end of a line. */
function overTheWire(name: string, given: unknown): unknown {
  const type = messageNamed(name);
  return toPlain(type, fromBinary(type, toBinary(type, toMessage(type, given))));
}

function wrong(name: string, given: unknown): Record<string, string> {
  try {
    toMessage(messageNamed(name), given);
  } catch (error) {
    assert.ok(error instanceof ServiceError && error.code === 'INVALID_ARGUMENT');
    return Object.fromEntries(error.violations.map(({ field, description }) => [field, description]));
  }
  return {};
}

test('wrong keys and values are named by their path, all at once', () => {
  assert.deepEqual(
    wrong('PlanRewindRequest', {
      record: {
        title: 7,
        machine: {
          core: { bore_diameter: { mm: '60' }, slots: 12.5 },
          leads: { pin: 'A' },
          kind: 'MACHINE_KIND_STEAM',
          potted: 'no',
        },
        winding: { strands: [{ wires_in_hand: 2 }, { wires_in_hands: 2 }], turns_per_coil: 2 ** 31 },
        workshop: { air_temperature: { celsius: NaN } },
      },
      wires: [],
    }),
    {
      'record.title': 'got 7, accepted: a text',
      'record.machine.core.bore_diameter.mm': 'got "60", accepted: a finite number',
      'record.machine.core.slots': 'got 12.5, accepted: a whole number from -2147483648 to 2147483647',
      'record.machine.leads': 'got an object, accepted: an array',
      'record.machine.kind':
        'got "MACHINE_KIND_STEAM", accepted: MACHINE_KIND_PERMANENT_MAGNET, MACHINE_KIND_INDUCTION, ' +
        'MACHINE_KIND_SYNCHRONOUS_RELUCTANCE, MACHINE_KIND_WOUND_FIELD_SYNCHRONOUS, MACHINE_KIND_DC_ARMATURE, ' +
        'MACHINE_KIND_DC_FIELD, MACHINE_KIND_SINGLE_PHASE_INDUCTION',
      'record.machine.potted': 'got "no", accepted: true or false',
      'record.winding.strands[1].wires_in_hands': 'no such field, accepted: wire, wires_in_hand',
      'record.winding.turns_per_coil': 'got 2147483648, accepted: a whole number from -2147483648 to 2147483647',
      'record.workshop.air_temperature.celsius': 'got NaN, accepted: a finite number',
      wires: wrong('PlanRewindRequest', { wires: 'any' })['wires']!.replace('"any"', 'an array'),
    },
  );
  for (const given of [null, 5, 'x', [], new Map(), new Date()])
    assert.match(wrong('Length', given)['']!, /accepted: an object with mm, inches, mils, metres, feet$/);
  assert.deepEqual(wrong('Length', { mm: 1, feet: 2 }), { '': 'got mm and feet, accepted: one of them' });
  assert.deepEqual(wrong('Core', { bore_diameter: { mm: 1 }, boreDiameter: { mm: 2 } }), {
    boreDiameter: 'given twice, as bore_diameter and as boreDiameter',
  });
  assert.match(
    wrong('WindingRecord', { title: `seamer${'x'.repeat(99)}`, note: {} })['note']!,
    /^got an object, accepted: a text/,
  );
});

test('half characters are refused before they are sent, whole ones pass', () => {
  for (const text of ['\uD83D', 'x\uDE00', '\uDE00\uD83D'])
    assert.match(
      wrong('WindingRecord', { title: text })['title']!,
      /^got ".*\\ud.*", accepted: a text without half characters/,
    );
  assert.equal(
    (overTheWire('WindingRecord', { title: 'Kühlhaus \u{1F41F}' }) as WindingRecord).title,
    'Kühlhaus \u{1F41F}',
  );
});

test('an optional zero is there, and what was not measured is not', () => {
  assert.deepEqual(
    overTheWire('FeedbackAlignment', { electrical_degrees: 0, holding_amps_dc: undefined, marks: null }),
    {
      marks: '',
      method: '',
      electrical_degrees: 0,
      hall_states: '',
    },
  );
  assert.deepEqual(overTheWire('Brake', { rectifier: false }), { polarity: '', release: '', rectifier: false });
  assert.deepEqual(overTheWire('Length', { mm: 0 }), { mm: 0 });
  assert.deepEqual(overTheWire('Length', {}), {});
});

test('64-bit numbers are exact', () => {
  const greatest = '9223372036854775807';
  for (const sequence of [greatest, BigInt(greatest)])
    assert.equal((overTheWire('ArchiveEntry', { sequence }) as ArchiveEntry).sequence, greatest);
  assert.equal((overTheWire('ArchiveEntry', { sequence: -5 }) as ArchiveEntry).sequence, '-5');
  for (const sequence of ['9223372036854775808', 2 ** 53, 1.5, '1e3', '', '0x10', NaN])
    assert.match(
      wrong('ArchiveEntry', { sequence })['sequence']!,
      /accepted: a whole number from -9223372036854775808/,
      String(sequence),
    );
});

test('times and field masks are texts', () => {
  type Update = { update_mask: string };
  assert.equal(
    (overTheWire('UpdateWindingRequest', { update_mask: 'winding.turns_per_coil,note' }) as Update).update_mask,
    'winding.turnsPerCoil,note',
  );
  assert.match(
    wrong('UpdateWindingRequest', { update_mask: ['note'] })['update_mask']!,
    /^got an array, accepted: field names with commas/,
  );
  const moment = new Date('2026-03-31T08:00:00Z');
  for (const taken_time of [moment, '2026-03-31T08:00:00Z', '2026-03-31T10:00:00+02:00'])
    assert.equal(
      (overTheWire('JobReadings', { taken_time }) as { taken_time: string }).taken_time,
      '2026-03-31T08:00:00Z',
    );
  for (const taken_time of ['yesterday', 5, new Date(NaN), '2026-03-31'])
    assert.match(wrong('JobReadings', { taken_time })['taken_time']!, /accepted: a time as in 2026-03-31T08:00:00Z$/);
});

test('a detail of a newer server is shown by its name', () => {
  const type = messageNamed('StatusDetails');
  const newer = create(AnySchema, {
    typeUrl: 'type.googleapis.com/of.a.newer.server.Detail',
    value: new Uint8Array([8, 1]),
  });
  assert.deepEqual(toPlain(type, create(type, { details: [newer] } as Record<string, unknown>)), {
    code: 0,
    message: '',
    details: [{ '@type': 'type.googleapis.com/of.a.newer.server.Detail' }],
  });
});

test('an enum value without a name here is its number, both ways', () => {
  assert.deepEqual((overTheWire('Machine', { kind: 77 }) as { kind: unknown }).kind, 77);
});

test('a record goes through the archive and back, zeros and gaps included', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'coilwright-'));
  try {
    const client = (await Server.start(`--archive=${folder}/archive.db`)).client();
    const record: Request<WindingRecord> = {
      title: 'Harbour Lane cannery, labeller \u{1F41F}',
      machine: { kind: 'MACHINE_KIND_PERMANENT_MAGNET', fitted: { feedback_alignment: { electrical_degrees: 0 } } },
    };
    const made = await client.windingArchive.createWinding({ record, recorded_by: 'Ada Quill' });
    const back = await client.windingArchive.getWinding({ name: made.winding?.name ?? '' });
    const alignment = back.winding?.record?.machine?.fitted?.feedback_alignment;
    assert.equal(alignment?.electrical_degrees, 0);
    assert.equal('holding_amps_dc' in (alignment ?? {}), false);
    assert.equal(back.winding?.record?.title, record.title);
    assert.match(back.winding?.create_time ?? '', /^20\d\d-\d\d-\d\dT/);
    assert.deepEqual(JSON.parse(JSON.stringify(back)), back);

    // What was read is written back as it is, with one thing changed.
    const changed = await client.windingArchive.updateWinding({
      winding: { ...back.winding, record: { ...back.winding?.record, note: 'counted twice' } },
      update_mask: 'record.note',
    });
    assert.equal(changed.winding?.record?.note, 'counted twice');
    assert.equal((await client.archive.getArchive({})).entries, '2');
  } finally {
    rmSync(folder, { recursive: true });
  }
});
