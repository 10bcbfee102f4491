-- A logbook of version 2, as SQL. Invented entries.
PRAGMA application_id = 1380271428;
PRAGMA user_version = 2;
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
INSERT INTO "boxes" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'1','clarinet','plain','3','2026-02-20',31.9,NULL);
INSERT INTO "boxes" VALUES(2,'2026-03-19T20:00:05Z',NULL,0,'2','clarinet',NULL,'3½',NULL,NULL,NULL);
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
INSERT INTO "days" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'2026-03-05',41.5,NULL,0,0,NULL);
INSERT INTO "days" VALUES(2,'2026-03-19T20:00:05Z',1,0,'2026-03-05',42.0,0.0,0,0,'window open');
INSERT INTO "days" VALUES(3,'2026-03-19T20:00:05Z',NULL,0,'2026-04-01',NULL,NULL,0,1,NULL);
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
INSERT INTO "looks" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'wetting','2026-03-05','could not wait');
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
INSERT INTO "reeds" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'1-01','1',0.5,-0.5,NULL,0,NULL,NULL);
INSERT INTO "reeds" VALUES(2,'2026-03-19T20:00:05Z',NULL,0,'1-02','1',1.0,-0.5,NULL,0,NULL,NULL);
INSERT INTO "reeds" VALUES(3,'2026-03-19T20:00:05Z',NULL,0,'1-03','1',1.5,-0.5,NULL,0,NULL,NULL);
INSERT INTO "reeds" VALUES(4,'2026-03-19T20:00:05Z',NULL,0,'1-04','1',2.0,-0.5,NULL,0,NULL,NULL);
INSERT INTO "reeds" VALUES(5,'2026-03-19T20:00:05Z',NULL,0,'1-05','1',2.5,-0.5,NULL,0,NULL,NULL);
INSERT INTO "reeds" VALUES(6,'2026-03-19T20:00:05Z',NULL,0,'1-06','1',3.0,-0.5,NULL,0,NULL,NULL);
INSERT INTO "reeds" VALUES(7,'2026-03-19T20:00:05Z',NULL,0,'2-01','2',NULL,NULL,NULL,1,'2026-03-01','first line
second line');
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
INSERT INTO "retirements" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'1-06','2026-03-08','damaged',NULL);
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
INSERT INTO "setups" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'main','clarinet','wide, open','the "old" one',NULL);
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
INSERT INTO "sittings" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'2026-03-05-1-01-1','2026-03-05','1-01','main',1,12.5,7.0,NULL,NULL,NULL,NULL,'soak',0,'practice',0,0,NULL);
INSERT INTO "sittings" VALUES(2,'2026-03-19T20:00:05Z',NULL,0,'2026-03-05-1-02-1','2026-03-05','1-02',NULL,2,10.0,6.5,NULL,NULL,NULL,NULL,'lick',0,NULL,0,0,NULL);
INSERT INTO "sittings" VALUES(3,'2026-03-19T20:00:05Z',NULL,0,'2026-03-06-1-02-1','2026-03-06','1-02',NULL,NULL,3.33333333333333314829e-01,0.0,NULL,NULL,NULL,NULL,NULL,1,NULL,1,0,NULL);
INSERT INTO "sittings" VALUES(4,'2026-03-19T20:00:05Z',NULL,0,'2026-03-06-1-05-1','2026-03-06','1-05',NULL,NULL,60.0,NULL,NULL,NULL,NULL,NULL,NULL,0,NULL,0,1,'ü, “so”; = 1');
INSERT INTO "sittings" VALUES(5,'2026-03-19T20:00:05Z',1,0,'2026-03-05-1-01-1','2026-03-05','1-01',NULL,1,15.0,7.5,NULL,NULL,NULL,NULL,'soak',0,'concert',0,0,NULL);
INSERT INTO "sittings" VALUES(6,'2026-03-19T20:00:05Z',NULL,0,'2026-03-07-1-06-1','2026-03-07','1-06',NULL,NULL,5.0,NULL,NULL,NULL,NULL,NULL,NULL,0,NULL,0,0,NULL);
INSERT INTO "sittings" VALUES(7,'2026-03-19T20:00:05Z',6,1,'2026-03-07-1-06-1','2026-03-07','1-06',NULL,NULL,5.0,NULL,NULL,NULL,NULL,NULL,NULL,0,NULL,0,0,NULL);
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
INSERT INTO "trials" VALUES(1,'2026-03-19T20:00:05Z',NULL,0,'wetting','2026-03-05',NULL,NULL,'5d8339e26348e6de235585567530b076518747ddbf53a3455d9b13acedf137b8','{"adjust":[],"ask":"Soak or lick?","cap_hours":null,"days":2,"dealt":["soak","lick"],"design":"day_by_day","expected":null,"expected_gap":null,"from_new":false,"good_below":6.0,"habits":[{"key":"lick","name":"wetting in the mouth","steps":""},{"key":"soak","name":"soaking in water","steps":""}],"how_dealt":"seed","in_a_row":2,"instrument":"clarinet","level":0.95,"masked":"none","matters":1.0,"outcome":"day_rating","overrides":[],"question":"wetting","rating":"overall","same_days":true,"scale":[[2,"would not play"],[4,"practice only"],[6,"rehearsal"],[8,"concert"],[10,"best I have had"]],"seed":7,"setup":null,"slots":[{"day":1,"order":1,"reed":"1-01"},{"day":1,"order":2,"reed":"1-02"},{"day":2,"order":1,"reed":"1-02"},{"day":2,"order":2,"reed":"1-01"}],"start":"2026-03-05","trial":"wetting","units":[{"block":"s1","cells":[["1-01",1],["1-02",2]],"reeds":["1-01","1-02"],"unit":"s1-1"},{"block":"s1","cells":[["1-02",1],["1-01",2]],"reeds":["1-01","1-02"],"unit":"s1-2"}],"version":1,"worn_out_below":4.0,"worn_out_rule":"ratings"}');
INSERT INTO "trials" VALUES(2,'2026-03-19T20:00:05Z',1,0,'wetting','2026-03-05','2026-03-06','school holidays','5d8339e26348e6de235585567530b076518747ddbf53a3455d9b13acedf137b8','{"adjust":[],"ask":"Soak or lick?","cap_hours":null,"days":2,"dealt":["soak","lick"],"design":"day_by_day","expected":null,"expected_gap":null,"from_new":false,"good_below":6.0,"habits":[{"key":"lick","name":"wetting in the mouth","steps":""},{"key":"soak","name":"soaking in water","steps":""}],"how_dealt":"seed","in_a_row":2,"instrument":"clarinet","level":0.95,"masked":"none","matters":1.0,"outcome":"day_rating","overrides":[],"question":"wetting","rating":"overall","same_days":true,"scale":[[2,"would not play"],[4,"practice only"],[6,"rehearsal"],[8,"concert"],[10,"best I have had"]],"seed":7,"setup":null,"slots":[{"day":1,"order":1,"reed":"1-01"},{"day":1,"order":2,"reed":"1-02"},{"day":2,"order":1,"reed":"1-02"},{"day":2,"order":2,"reed":"1-01"}],"start":"2026-03-05","trial":"wetting","units":[{"block":"s1","cells":[["1-01",1],["1-02",2]],"reeds":["1-01","1-02"],"unit":"s1-1"},{"block":"s1","cells":[["1-02",1],["1-01",2]],"reeds":["1-01","1-02"],"unit":"s1-2"}],"version":1,"worn_out_below":4.0,"worn_out_rule":"ratings"}');
CREATE TRIGGER "boxes_no_update" BEFORE UPDATE ON "boxes" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "boxes_no_delete" BEFORE DELETE ON "boxes" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_boxes" AS SELECT * FROM "boxes" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "boxes" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "setups_no_update" BEFORE UPDATE ON "setups" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "setups_no_delete" BEFORE DELETE ON "setups" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_setups" AS SELECT * FROM "setups" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "setups" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "reeds_no_update" BEFORE UPDATE ON "reeds" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "reeds_no_delete" BEFORE DELETE ON "reeds" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_reeds" AS SELECT * FROM "reeds" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "reeds" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "sittings_no_update" BEFORE UPDATE ON "sittings" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "sittings_no_delete" BEFORE DELETE ON "sittings" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_sittings" AS SELECT * FROM "sittings" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "sittings" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "days_no_update" BEFORE UPDATE ON "days" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "days_no_delete" BEFORE DELETE ON "days" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_days" AS SELECT * FROM "days" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "days" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "retirements_no_update" BEFORE UPDATE ON "retirements" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "retirements_no_delete" BEFORE DELETE ON "retirements" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_retirements" AS SELECT * FROM "retirements" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "retirements" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "trials_no_update" BEFORE UPDATE ON "trials" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "trials_no_delete" BEFORE DELETE ON "trials" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_trials" AS SELECT * FROM "trials" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "trials" WHERE supersedes IS NOT NULL);
CREATE TRIGGER "looks_no_update" BEFORE UPDATE ON "looks" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE TRIGGER "looks_no_delete" BEFORE DELETE ON "looks" BEGIN SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END;
CREATE VIEW "current_looks" AS SELECT * FROM "looks" WHERE withdrawn = 0 AND entry_id NOT IN (SELECT supersedes FROM "looks" WHERE supersedes IS NOT NULL);
COMMIT;
