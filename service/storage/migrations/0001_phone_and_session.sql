-- The first tables. One text for SQLite and PostgreSQL: SQLite takes any type name, and keeps
-- moments as ISO text in UTC, booleans as 0 and 1.

CREATE TABLE phone (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    number VARCHAR(80) NOT NULL UNIQUE,
    language VARCHAR(16),
    created_at TIMESTAMP WITH TIME ZONE NOT NULL
);

CREATE TABLE session (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    plot_id VARCHAR(32),
    channel VARCHAR(16) NOT NULL,
    gateway_session VARCHAR(128) NOT NULL,
    flow VARCHAR(64) NOT NULL,
    flow_version VARCHAR(16) NOT NULL,
    state VARCHAR(64) NOT NULL,
    history TEXT NOT NULL,
    answers TEXT NOT NULL,
    language VARCHAR(16) NOT NULL,
    page INTEGER NOT NULL,
    misreads INTEGER NOT NULL,
    notice TEXT NOT NULL,
    owner VARCHAR(16) NOT NULL,
    open BOOLEAN NOT NULL,
    offering BOOLEAN NOT NULL,
    revision INTEGER NOT NULL,
    last_step INTEGER NOT NULL,
    last_body_hash VARCHAR(64) NOT NULL,
    last_reply TEXT NOT NULL,
    last_more BOOLEAN NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE NOT NULL
);

-- A gateway's session id means one session only, for ever: a late repeat finds its stored reply.
CREATE UNIQUE INDEX session_by_gateway ON session (channel, gateway_session);

-- One open conversation per phone and channel.
CREATE UNIQUE INDEX session_open ON session (phone_id, channel) WHERE open;

CREATE INDEX session_by_phone ON session (phone_id, channel);
