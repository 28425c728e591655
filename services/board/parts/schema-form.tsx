import { useId } from "preact/hooks";
import {
  emptyOf,
  labelOf,
  type Path,
  pointerOf,
  type Resolved,
  resolve,
  variantName,
  variantOf,
} from "../logic/schema-form.js";
import { NumberInput, Wrapped } from "./schema-inputs.js";

export interface FormProps {
  readonly resolved: Resolved;
  readonly value: unknown;
  readonly path: Path;
  readonly onChange: (path: Path, value: unknown) => void;
  /** What the server objected to, by pointer. */
  readonly faults: ReadonlyMap<string, string>;
  /** Names to choose from where an id points at something else, by the property's name. */
  readonly choices: Readonly<Record<string, readonly { readonly id: string; readonly name: string }[]>>;
  /** Properties that have a place of their own elsewhere. */
  readonly leaveOut?: ReadonlySet<string>;
}

/** One property of an object, by its schema. */
function Property({ name, isNeeded, ...form }: FormProps & { name: string; isNeeded: boolean }) {
  const { resolved, value, path, onChange, faults, choices } = form;
  const { schema } = resolved;
  const label = labelOf(name);
  const fault = faults.get(pointerOf(path));
  if (schema.const !== undefined) return null;
  if (value === undefined && !isNeeded)
    return (
      <button
        type="button"
        class="btn slim sf-add"
        title={schema.description}
        onClick={() => onChange(path, emptyOf(resolved))}
      >
        + {label}
      </button>
    );
  const remove = !isNeeded && (
    <button
      type="button"
      class="btn slim bare sf-remove"
      aria-label={`Take away ${label}`}
      onClick={() => onChange(path, undefined)}
    >
      ✕
    </button>
  );
  const list = choices[name];
  if (schema.enum !== undefined || (list && schema.type === "string")) {
    const options = list ?? schema.enum!.map((one) => ({ id: String(one), name: String(one) }));
    return (
      <Wrapped label={label} about={list ? undefined : schema.description} fault={fault}>
        <span class="sf-row">
          <select
            class="entry"
            aria-label={label}
            value={String(value ?? "")}
            onChange={(event) => onChange(path, event.currentTarget.value)}
          >
            {!options.some((one) => one.id === value) && (
              <option value={String(value ?? "")}>{String(value ?? "")}</option>
            )}
            {options.map((one) => (
              <option key={one.id} value={one.id}>
                {one.name}
              </option>
            ))}
          </select>
          {remove}
        </span>
      </Wrapped>
    );
  }
  if (schema.oneOf !== undefined || schema.type === "object" || schema.type === "array")
    return (
      <fieldset class="sf-group">
        <legend>
          {label} {remove}
        </legend>
        {schema.description && <p class="sf-about">{schema.description}</p>}
        {fault && <p class="sf-fault">{fault}</p>}
        <SchemaForm {...form} />
      </fieldset>
    );
  return (
    <Wrapped label={label} about={schema.description} fault={fault}>
      <span class="sf-row">
        {schema.type === "boolean" ? (
          <input
            type="checkbox"
            aria-label={label}
            checked={value === true}
            onChange={(event) => onChange(path, event.currentTarget.checked)}
          />
        ) : schema.type === "integer" || schema.type === "number" ? (
          <NumberInput schema={schema} value={value as number} label={label} onValue={(next) => onChange(path, next)} />
        ) : (
          <input
            class="entry"
            aria-label={label}
            maxLength={schema.maxLength}
            pattern={schema.pattern}
            value={String(value ?? "")}
            onInput={(event) => onChange(path, event.currentTarget.value)}
          />
        )}
        {remove}
      </span>
    </Wrapped>
  );
}

function ListForm(form: FormProps) {
  const { resolved, value, path, onChange, choices } = form;
  const { schema, root } = resolved;
  const items = (value ?? []) as readonly unknown[];
  const item = resolve(schema.items!, root);
  const isPlain = item.schema.type !== "object" && item.schema.oneOf === undefined;
  const id = useId();
  const options =
    item.schema.enum?.map((one) => ({ id: String(one), name: String(one) })) ?? choices[String(path.at(-1))];
  if (isPlain && options)
    return (
      <div class="sf-ticks">
        {options.map((option) => (
          <label key={option.id} for={`${id}-${option.id}`}>
            <input
              id={`${id}-${option.id}`}
              type="checkbox"
              checked={items.includes(option.id)}
              onChange={(event) =>
                onChange(
                  path,
                  event.currentTarget.checked
                    ? options.map((one) => one.id).filter((one) => one === option.id || items.includes(one))
                    : items.filter((one) => one !== option.id),
                )
              }
            />{" "}
            {option.name}
          </label>
        ))}
      </div>
    );
  return (
    <div class="sf-list">
      {items.map((one, i) => (
        <div key={i} class="sf-item">
          <SchemaForm {...form} resolved={item} value={one} path={[...path, i]} />
          <button
            type="button"
            class="btn slim bare sf-remove"
            aria-label={`Take away number ${i + 1}`}
            onClick={() =>
              onChange(
                path,
                items.filter((_, k) => k !== i),
              )
            }
          >
            ✕
          </button>
        </div>
      ))}
      <button
        type="button"
        class="btn slim"
        disabled={schema.maxItems !== undefined && items.length >= schema.maxItems}
        onClick={() => onChange(path, [...items, items.length > 0 ? freshCopy(items) : emptyOf(item)])}
      >
        + one more
      </button>
    </div>
  );
}

/** A copy of the last, with an id of its own when it has one. */
function freshCopy(items: readonly unknown[]): unknown {
  const last = items[items.length - 1];
  if (typeof last !== "object" || last === null || !("id" in last)) return last;
  const taken = new Set(items.map((item) => (item as { id: string }).id));
  const stem = String(last.id).replace(/-?\d+$/, "");
  let n = items.length + 1;
  while (taken.has(`${stem}-${n}`)) n++;
  return { ...last, id: `${stem}-${n}` };
}

/** A form made from a schema: any object, list or choice of forms. */
export function SchemaForm(form: FormProps) {
  const { resolved, value, path, onChange, faults, choices, leaveOut } = form;
  const { schema, root } = resolved;
  if (schema.oneOf !== undefined) {
    const at = variantOf(schema.oneOf, root, value);
    const chosen = resolve(schema.oneOf[at]!, root);
    return (
      <div class="sf-object">
        <label class="sf-field">
          <span class="sf-label">Kind</span>
          <select
            class="entry"
            value={String(at)}
            onChange={(event) =>
              onChange(path, emptyOf(resolve(schema.oneOf![Number(event.currentTarget.value)]!, root)))
            }
          >
            {schema.oneOf.map((option, i) => (
              <option key={variantName(option, root)} value={String(i)}>
                {variantName(option, root)}
              </option>
            ))}
          </select>
        </label>
        <SchemaForm {...form} resolved={chosen} />
      </div>
    );
  }
  if (schema.type === "array") return <ListForm {...form} />;
  if (schema.type !== "object") {
    return <Property {...form} name={String(path.at(-1))} isNeeded />;
  }
  const own = (value ?? {}) as Record<string, unknown>;
  const names = Object.keys(schema.properties ?? {}).filter((name) => !leaveOut?.has(name));
  const part = (name: string) => (
    <Property
      key={name}
      name={name}
      isNeeded={schema.required?.includes(name) ?? false}
      resolved={resolve(schema.properties![name]!, root)}
      value={own[name]}
      path={[...path, name]}
      onChange={onChange}
      faults={faults}
      choices={choices}
    />
  );
  const isThere = (name: string): boolean => own[name] !== undefined || (schema.required?.includes(name) ?? false);
  return (
    <div class="sf-object">
      {names.filter(isThere).map(part)}
      <div class="sf-adds">{names.filter((name) => !isThere(name)).map(part)}</div>
    </div>
  );
}
