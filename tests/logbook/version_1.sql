-- A logbook of version 1, as SQL. Invented entries.
PRAGMA application_id = 1380271428;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE "boxes" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "boxes" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "box" TEXT NOT NULL,
  "instrument" TEXT NOT NULL CHECK ("instrument" IN ('clarinet', 'bass clarinet', 'soprano saxophone', 'alto saxophone', 'tenor saxophone', 'baritone saxophone', 'other')),
  "cut" TEXT,
  "strength" TEXT,
  "opened" TEXT,
  "price" REAL CHECK ("price" BETWEEN 0 AND 100000),
  "remark" TEXT,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
INSERT INTO "boxes" VALUES(1,'2026-03-20T20:00:00Z',NULL,0,'1','clarinet',NULL,'3',NULL,NULL,NULL);
CREATE TABLE "days" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "days" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "date" TEXT NOT NULL,
  "humidity_pct" REAL CHECK ("humidity_pct" BETWEEN 0 AND 100),
  "temp_c" REAL CHECK ("temp_c" BETWEEN -20 AND 50),
  "day_off" INTEGER NOT NULL CHECK ("day_off" IN (0, 1)),
  "pause" INTEGER NOT NULL CHECK ("pause" IN (0, 1)),
  "remark" TEXT,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
CREATE TABLE "looks" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "looks" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "trial" TEXT NOT NULL,
  "date" TEXT NOT NULL,
  "why" TEXT NOT NULL,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
CREATE TABLE "reeds" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "reeds" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "reed" TEXT NOT NULL,
  "box" TEXT NOT NULL,
  "first_play" REAL CHECK ("first_play" BETWEEN 0 AND 10),
  "first_stiffness" REAL CHECK ("first_stiffness" BETWEEN -3 AND 3),
  "first_played" TEXT,
  "set_aside" INTEGER NOT NULL CHECK ("set_aside" IN (0, 1)),
  "worked_on" TEXT,
  "remark" TEXT,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
INSERT INTO "reeds" VALUES(1,'2026-03-20T20:00:00Z',NULL,0,'1-01','1',6.5,NULL,NULL,0,NULL,NULL);
CREATE TABLE "retirements" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "retirements" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "reed" TEXT NOT NULL,
  "date" TEXT NOT NULL,
  "reason" TEXT NOT NULL CHECK ("reason" IN ('worn_out', 'damaged', 'mouldy', 'lost', 'given_away', 'by_choice')),
  "remark" TEXT,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
CREATE TABLE "setups" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "setups" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "setup" TEXT NOT NULL,
  "instrument" TEXT CHECK ("instrument" IN ('clarinet', 'bass clarinet', 'soprano saxophone', 'alto saxophone', 'tenor saxophone', 'baritone saxophone', 'other')),
  "mouthpiece" TEXT,
  "ligature" TEXT,
  "remark" TEXT,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
CREATE TABLE "sittings" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "sittings" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "sitting" TEXT,
  "date" TEXT NOT NULL,
  "reed" TEXT NOT NULL,
  "setup" TEXT,
  "order" INTEGER CHECK ("order" BETWEEN 1 AND 50),
  "play_min" REAL NOT NULL CHECK ("play_min" BETWEEN 0 AND 720),
  "overall" REAL CHECK ("overall" BETWEEN 0 AND 10),
  "response" REAL CHECK ("response" BETWEEN 0 AND 10),
  "tone" REAL CHECK ("tone" BETWEEN 0 AND 10),
  "stiffness" REAL CHECK ("stiffness" BETWEEN -3 AND 3),
  "position" TEXT,
  "habit" TEXT,
  "waterlogged" INTEGER NOT NULL CHECK ("waterlogged" IN (0, 1)),
  "where" TEXT CHECK ("where" IN ('practice', 'rehearsal', 'concert')),
  "from_memory" INTEGER NOT NULL CHECK ("from_memory" IN (0, 1)),
  "unsure_reed" INTEGER NOT NULL CHECK ("unsure_reed" IN (0, 1)),
  "remark" TEXT,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
INSERT INTO "sittings" VALUES(1,'2026-03-20T20:00:00Z',NULL,0,'2026-03-05-1-01-1','2026-03-05','1-01',NULL,NULL,12.5,7.0,NULL,NULL,NULL,NULL,NULL,0,NULL,0,0,NULL);
INSERT INTO "sittings" VALUES(2,'2026-03-20T20:00:00Z',1,0,'2026-03-05-1-01-1','2026-03-05','1-01',NULL,NULL,15.0,7.0,NULL,NULL,NULL,NULL,NULL,0,NULL,0,0,NULL);
CREATE TABLE "trials" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "trials" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  "trial" TEXT NOT NULL,
  "started" TEXT NOT NULL,
  "ended" TEXT,
  "ended_why" TEXT,
  "protocol_sha256" TEXT NOT NULL,
  "protocol" TEXT NOT NULL,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT;
COMMIT;
