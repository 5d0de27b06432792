// Messages as plain objects: the JSON of proto3 with the field names of the .proto files.
import {
  fromJson,
  toJson,
  ScalarType,
  type DescEnum,
  type DescField,
  type DescMessage,
  type JsonValue,
  type Message,
} from '@bufbuild/protobuf';

import { detailRegistry } from './contract.js';
import { refusal, type Violation } from './errors.js';
import { shown } from './shown.js';

/** A plain object as a message. ServiceError INVALID_ARGUMENT names every wrong key and value, and nothing is sent. */
export function toMessage(type: DescMessage, given: unknown): Message {
  const wrong: Violation[] = [];
  const plain = objectOf(type, given, '', wrong);
  if (wrong.length > 0) throw refusal(wrong);
  try {
    return fromJson(type, plain as JsonValue, { registry: detailRegistry });
  } catch (error) {
    throw refusal([{ field: '', description: (error as Error).message }]);
  }
}

/**
 * A message as a plain object. Where an optional field is missing it is not known; all others are there, zero and empty
 * ones too, so that a missing key means one thing only.
 */
export function toPlain(type: DescMessage, message: Message): unknown {
  return toJson(type, message, { registry: detailRegistry, useProtoFieldName: true, alwaysEmitImplicit: true });
}

// What fromJson() would pass over, change, or refuse without saying where, is told in `wrong`.
function objectOf(type: DescMessage, given: unknown, path: string, wrong: Violation[]): unknown {
  if (type.file.proto.package !== 'coilwright.v1') return commonOf(type, given, path, wrong);
  if (Object.prototype.toString.call(given) !== '[object Object]')
    return refuse(wrong, path, given, `an object with ${names(type)}`);
  const plain: Record<string, unknown> = {};
  for (const [key, value] of Object.entries(given as object)) {
    if (value === undefined || value === null) continue;
    const field = type.fields.find(({ name, jsonName }) => name === key || jsonName === key);
    const name = key.length <= 60 ? key : shown(key);
    const place = path === '' ? name : `${path}.${name}`;
    if (field === undefined) {
      wrong.push({ field: place, description: `no such field, accepted: ${names(type)}` });
    } else if (field.name in plain) {
      wrong.push({ field: place, description: `given twice, as ${field.name} and as ${field.jsonName}` });
    } else {
      plain[field.name] =
        field.fieldKind === 'list' ? listOf(field, value, place, wrong) : valueOf(field, value, place, wrong);
    }
  }
  for (const choice of type.oneofs) {
    const chosen = choice.fields.filter(({ name }) => name in plain).map(({ name }) => name);
    if (chosen.length > 1)
      wrong.push({ field: path, description: `got ${chosen.join(' and ')}, accepted: one of them` });
  }
  return plain;
}

function listOf(field: DescField, given: unknown, path: string, wrong: Violation[]): unknown {
  if (!Array.isArray(given)) return refuse(wrong, path, given, 'an array');
  return given.map((item, index) => valueOf(field, item, `${path}[${index}]`, wrong));
}

function valueOf(field: DescField, given: unknown, path: string, wrong: Violation[]): unknown {
  if (field.message !== undefined) return objectOf(field.message, given, path, wrong);
  if (field.enum !== undefined) return enumOf(field.enum, given, path, wrong);
  switch (field.scalar) {
    case ScalarType.DOUBLE:
    case ScalarType.FLOAT:
      return Number.isFinite(given) ? given : refuse(wrong, path, given, 'a finite number');
    case ScalarType.BOOL:
      return typeof given === 'boolean' ? given : refuse(wrong, path, given, 'true or false');
    case ScalarType.STRING:
      if (typeof given !== 'string') return refuse(wrong, path, given, 'a text');
      // Written as UTF-8 each would become a mark of its own, and another text would be kept.
      return /\p{Surrogate}/u.test(given)
        ? refuse(wrong, path, given, 'a text without half characters (lone surrogates)')
        : given;
    case ScalarType.INT32:
      return wholeOf(given, -(2n ** 31n), 2n ** 31n - 1n, path, wrong);
    case ScalarType.INT64:
      return wholeOf(given, -(2n ** 63n), 2n ** 63n - 1n, path, wrong);
    default:
      return given; // fromJson() has the last word
  }
}

// 64 bits are a text in the JSON of proto3, since a number of JavaScript does not hold them.
function wholeOf(given: unknown, least: bigint, greatest: bigint, path: string, wrong: Violation[]): unknown {
  const whole =
    typeof given === 'bigint' ||
    Number.isSafeInteger(given) ||
    (typeof given === 'string' && /^-?\d{1,20}$/.test(given));
  if (!whole || BigInt(given as string) < least || BigInt(given as string) > greatest)
    return refuse(wrong, path, given, `a whole number from ${least} to ${greatest}`);
  return String(given);
}

function enumOf(type: DescEnum, given: unknown, path: string, wrong: Violation[]): unknown {
  if (type.values.some(({ name }) => name === given)) return given;
  // A newer server may have answered with a number that has no name here.
  if (Number.isInteger(given) && Math.abs(given as number) < 2 ** 31) return given;
  return refuse(
    wrong,
    path,
    given,
    type.values
      .filter(({ number }) => number !== 0)
      .map(({ name }) => name)
      .join(', '),
  );
}

// Times and field masks are texts in JSON; the service names fields as the .proto files do, the JSON of masks does not.
function commonOf(type: DescMessage, given: unknown, path: string, wrong: Violation[]): unknown {
  if (type.typeName === 'google.protobuf.Any') return given;
  const text = given instanceof Date && !Number.isNaN(given.valueOf()) ? given.toISOString() : given;
  const plain =
    type.typeName === 'google.protobuf.FieldMask' && typeof text === 'string'
      ? text.replace(/_([a-z])/g, (_, letter: string) => letter.toUpperCase())
      : text;
  try {
    fromJson(type, plain as JsonValue);
    return plain;
  } catch {
    return refuse(
      wrong,
      path,
      given,
      type.typeName === 'google.protobuf.Timestamp'
        ? 'a time as in 2026-03-31T08:00:00Z'
        : 'field names with commas between them',
    );
  }
}

function refuse(wrong: Violation[], path: string, given: unknown, accepted: string): undefined {
  wrong.push({ field: path, description: `got ${shown(given)}, accepted: ${accepted}` });
  return undefined;
}

function names(type: DescMessage): string {
  return type.fields.map(({ name }) => name).join(', ') || 'nothing in it';
}
