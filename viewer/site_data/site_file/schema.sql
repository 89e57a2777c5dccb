-- Curvewright site file, format 4.
--
-- One SQLite database per site, extension .curvewright, application_id 0x43765772 ("CvWr"),
-- user_version = the number of the format. Any SQLite client may read it.
--
-- Times are ISO 8601 text as they were recorded: with an offset where the source gave one.
-- Times the program itself takes (imported_at, created_at, ...) are UTC.
-- NULL means "not recorded"; for a key point it means "could not be determined".
-- Columns named `more` hold a JSON object with further fields of the record, usually {}.

CREATE TABLE sites (
    id         INTEGER PRIMARY KEY,
    name       TEXT NOT NULL,
    latitude   REAL,               -- degrees north
    longitude  REAL,               -- degrees east
    altitude   REAL,               -- m
    timezone   TEXT,               -- IANA name
    tilt       REAL,               -- degrees from horizontal; of the axis of a tracker
    azimuth    REAL,               -- degrees clockwise from north
    tracking   INTEGER CHECK (tracking IN (0, 1)),
    max_angle  REAL,               -- degrees, largest rotation of a tracker
    ground_coverage_ratio REAL,
    more       TEXT NOT NULL DEFAULT '{}'
);

CREATE TABLE module_types (         -- datasheets; values at STC as the datasheet prints them
    id              INTEGER PRIMARY KEY,
    site_id         INTEGER NOT NULL REFERENCES sites (id),
    key             TEXT NOT NULL,  -- the word site.toml uses
    technology      TEXT NOT NULL,
    i_sc            REAL NOT NULL,  -- A
    v_oc            REAL NOT NULL,  -- V
    i_mp            REAL NOT NULL,  -- A
    v_mp            REAL NOT NULL,  -- V
    alpha_sc        REAL NOT NULL,  -- %/K
    beta_voc        REAL NOT NULL,  -- %/K
    gamma_pmp       REAL NOT NULL,  -- %/K
    cells_in_series INTEGER NOT NULL,
    parallel_paths  INTEGER NOT NULL,
    bypass_diodes   INTEGER NOT NULL,
    bifaciality     REAL NOT NULL,
    library         TEXT,           -- name in pvlib's CEC list, if taken from there
    more            TEXT NOT NULL DEFAULT '{}',
    warranty_first_year  REAL,      -- % of rated power; all warranty_ columns NULL: no terms known
    warranty_annual      REAL,      -- percentage points a year after the first
    warranty_years       REAL,
    warranty_steps       TEXT,      -- JSON list of [age in years, % of rated power], or []
    warranty_start       TEXT,      -- date
    warranty_rated_power REAL,      -- W; NULL: i_mp times v_mp
    import_id       INTEGER REFERENCES imports (id),  -- which brought it; NULL: format 3 or older
    UNIQUE (site_id, key)
);

CREATE TABLE combiners (
    id       INTEGER PRIMARY KEY,
    site_id  INTEGER NOT NULL REFERENCES sites (id),
    name     TEXT NOT NULL,
    position INTEGER NOT NULL,      -- order on site
    more     TEXT NOT NULL DEFAULT '{}',
    import_id INTEGER REFERENCES imports (id),  -- as above
    UNIQUE (site_id, name)
);

CREATE TABLE strings (
    id                  INTEGER PRIMARY KEY,
    combiner_id         INTEGER NOT NULL REFERENCES combiners (id),
    name                TEXT NOT NULL,
    module_type_id      INTEGER NOT NULL REFERENCES module_types (id),
    modules_in_series   INTEGER NOT NULL,
    strings_in_parallel INTEGER NOT NULL,
    position            INTEGER NOT NULL,
    more                TEXT NOT NULL DEFAULT '{}',
    import_id           INTEGER REFERENCES imports (id),  -- as above
    UNIQUE (combiner_id, name)
);

CREATE TABLE modules (              -- single modules known by serial number
    id             INTEGER PRIMARY KEY,
    serial         TEXT NOT NULL,
    module_type_id INTEGER REFERENCES module_types (id),
    string_id      INTEGER REFERENCES strings (id),
    position       INTEGER,         -- counted from the string's positive end
    installed_on   TEXT,
    removed_on     TEXT
);

CREATE TABLE visits (               -- one trip to the site
    id          INTEGER PRIMARY KEY,
    site_id     INTEGER NOT NULL REFERENCES sites (id),
    name        TEXT NOT NULL,
    started_at  TEXT,               -- of the first trace; NULL: traces without a time
    ended_at    TEXT,               -- of the last trace
    is_baseline INTEGER NOT NULL DEFAULT 0 CHECK (is_baseline IN (0, 1)),
    note        TEXT
);

CREATE TABLE imports (              -- each is one transaction
    id              INTEGER PRIMARY KEY,
    folder          TEXT NOT NULL,
    imported_at     TEXT NOT NULL,
    program_version TEXT NOT NULL,
    hidden          INTEGER NOT NULL DEFAULT 0 CHECK (hidden IN (0, 1))  -- 1: was undone
);

CREATE TABLE stored_files (         -- the bytes of every imported file, each kept once
    sha256     TEXT NOT NULL PRIMARY KEY, -- hexadecimal, of the bytes before compression
    byte_count INTEGER NOT NULL,    -- before compression
    content    BLOB NOT NULL        -- zlib stream (RFC 1950)
);

CREATE TABLE traces (
    id          INTEGER PRIMARY KEY,
    import_id   INTEGER NOT NULL REFERENCES imports (id),
    visit_id    INTEGER NOT NULL REFERENCES visits (id),
    string_id   INTEGER REFERENCES strings (id),  -- NULL: the names below match no string
    file_sha256 TEXT REFERENCES stored_files (sha256),
    source      TEXT NOT NULL,      -- path in the visit folder
    combiner    TEXT,               -- names as recorded with the trace
    string      TEXT,
    measured_at TEXT,
    serial      TEXT,
    note        TEXT,
    sha256      TEXT,               -- of the file, as the reader gave it
    remarks     TEXT NOT NULL DEFAULT '[]',  -- JSON list: what the reader noticed and mended
    more        TEXT NOT NULL DEFAULT '{}',
    replaced_by INTEGER REFERENCES traces (id)  -- a later import of the same, changed file
);
CREATE INDEX traces_by_source ON traces (source);
CREATE INDEX traces_by_string ON traces (string_id);
CREATE INDEX traces_by_visit ON traces (visit_id);
CREATE INDEX traces_by_file ON traces (file_sha256);

CREATE TABLE trace_points (         -- numpy.frombuffer(voltage, '<f8') gives the sweep
    trace_id    INTEGER PRIMARY KEY REFERENCES traces (id),
    point_count INTEGER NOT NULL,
    voltage     BLOB NOT NULL,      -- V, 8-byte little-endian IEEE 754 each, measured order
    current     BLOB NOT NULL,      -- A, likewise
    CHECK (length(voltage) = 8 * point_count AND length(current) = 8 * point_count)
);

CREATE TABLE conditions (           -- read beside the sweep
    trace_id           INTEGER PRIMARY KEY REFERENCES traces (id),
    poa_global         REAL,        -- W/m²
    poa_global_end     REAL,        -- W/m²
    poa_rear           REAL,        -- W/m²
    temperature_module REAL,        -- °C, back of module
    temperature_cell   REAL,        -- °C
    temperature_air    REAL,        -- °C
    wind_speed         REAL,        -- m/s
    reference_cell     REAL,        -- W/m², reference cell, not corrected for its temperature
    temperature_reference_cell REAL, -- °C
    more               TEXT NOT NULL DEFAULT '{}'
);

CREATE TABLE unread_files (         -- files an import could not read, kept all the same
    id          INTEGER PRIMARY KEY,
    import_id   INTEGER NOT NULL REFERENCES imports (id),
    file_sha256 TEXT REFERENCES stored_files (sha256),
    source      TEXT NOT NULL,
    problem     TEXT NOT NULL
);

CREATE TABLE results (              -- key numbers of the last analysis; can be made anew
    trace_id                INTEGER PRIMARY KEY REFERENCES traces (id),
    program_version         TEXT NOT NULL,
    computed_at             TEXT NOT NULL,
    poa_global              REAL,   -- W/m², as used
    temperature_cell        REAL,   -- °C, as used
    measured_i_sc           REAL,   -- A
    measured_v_oc           REAL,   -- V
    measured_i_mp           REAL,   -- A
    measured_v_mp           REAL,   -- V
    measured_p_mp           REAL,   -- W
    measured_fill_factor    REAL,
    translated_i_sc         REAL,   -- the same at STC
    translated_v_oc         REAL,
    translated_i_mp         REAL,
    translated_v_mp         REAL,
    translated_p_mp         REAL,
    translated_fill_factor  REAL,
    power_ratio             REAL,   -- measured over predicted maximum power
    power_ratio_uncertainty REAL,   -- expanded, k = 2
    first_cause             TEXT,   -- the first candidate cause
    first_cause_likelihood  REAL    -- 0..1
);

CREATE TABLE findings (             -- what somebody concluded, to be repaired or watched
    id         INTEGER PRIMARY KEY,
    string_id  INTEGER REFERENCES strings (id),
    trace_id   INTEGER REFERENCES traces (id),
    cause      TEXT,
    text       TEXT NOT NULL,
    status     TEXT NOT NULL DEFAULT 'open' CHECK (status IN ('open', 'closed')),
    author     TEXT,
    created_at TEXT NOT NULL,
    closed_at  TEXT
);

CREATE TABLE repairs (
    id          INTEGER PRIMARY KEY,
    string_id   INTEGER NOT NULL REFERENCES strings (id),
    finding_id  INTEGER REFERENCES findings (id),
    repaired_on TEXT NOT NULL,
    text        TEXT NOT NULL,
    author      TEXT,
    created_at  TEXT NOT NULL
);

CREATE TABLE notes (
    id         INTEGER PRIMARY KEY,
    string_id  INTEGER REFERENCES strings (id),
    visit_id   INTEGER REFERENCES visits (id),
    trace_id   INTEGER REFERENCES traces (id),
    text       TEXT NOT NULL,
    author     TEXT,
    created_at TEXT NOT NULL
);

CREATE TABLE pictures (             -- bytes are in stored_files
    id          INTEGER PRIMARY KEY,
    string_id   INTEGER REFERENCES strings (id),
    visit_id    INTEGER REFERENCES visits (id),
    trace_id    INTEGER REFERENCES traces (id),
    finding_id  INTEGER REFERENCES findings (id),
    kind        TEXT NOT NULL CHECK (kind IN ('photograph', 'infrared', 'electroluminescence')),
    file_name   TEXT NOT NULL,
    file_sha256 TEXT NOT NULL REFERENCES stored_files (sha256),
    caption     TEXT,
    taken_at    TEXT,
    created_at  TEXT NOT NULL
);

CREATE TABLE plot_marks (           -- what people drew on a trace's plot
    id         INTEGER PRIMARY KEY,
    trace_id   INTEGER NOT NULL REFERENCES traces (id),
    kind       TEXT NOT NULL,       -- text, arrow, bracket, region, callout
    panel      TEXT NOT NULL,       -- iv, pv, difference
    form       TEXT NOT NULL,       -- measured, stc, relative
    points     TEXT NOT NULL,       -- JSON list of [x, y] in the panel's units
    text       TEXT NOT NULL,
    point      INTEGER,             -- the curve's point that a callout is tied to, from 0
    author     TEXT,
    created_at TEXT NOT NULL
);
CREATE INDEX plot_marks_by_trace ON plot_marks (trace_id);

CREATE TABLE settings (             -- of this site, one row each
    id    INTEGER PRIMARY KEY,
    name  TEXT NOT NULL UNIQUE,
    value TEXT NOT NULL             -- JSON
);

CREATE TABLE journal (              -- what was done, so that it can be undone and done again
    id      INTEGER PRIMARY KEY,
    made_at TEXT NOT NULL,
    label   TEXT NOT NULL,          -- in words, for the undo menu
    changes TEXT NOT NULL,          -- JSON list of {table, id, before, after}; null: no row
    state   TEXT NOT NULL DEFAULT 'done' CHECK (state IN ('done', 'undone', 'dropped'))
);

CREATE VIEW current_traces AS       -- what the program shows: not undone, not replaced
    SELECT traces.*
    FROM traces JOIN imports ON imports.id = traces.import_id
    WHERE imports.hidden = 0 AND traces.replaced_by IS NULL;

CREATE VIEW current_module_types AS -- the layout without what only imports brought that were undone
    SELECT module_types.*
    FROM module_types LEFT JOIN imports ON imports.id = module_types.import_id
    WHERE imports.hidden IS NOT 1;

CREATE VIEW current_combiners AS
    SELECT combiners.*
    FROM combiners LEFT JOIN imports ON imports.id = combiners.import_id
    WHERE imports.hidden IS NOT 1;

CREATE VIEW current_strings AS
    SELECT strings.*
    FROM strings LEFT JOIN imports ON imports.id = strings.import_id
    WHERE imports.hidden IS NOT 1;
