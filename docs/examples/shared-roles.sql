-- Database and roles of the shared book. Run once by whoever administers the server, before
-- `commission book prepare-shared`:
--
--     psql --set=ON_ERROR_STOP=1 --dbname=postgres --file=shared-roles.sql
--
-- A second time it changes nothing.

SELECT 'CREATE ROLE commission_owner LOGIN'
    WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'commission_owner') \gexec
-- What benches do: add entries and read.
SELECT 'CREATE ROLE commission_writer NOLOGIN'
    WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'commission_writer') \gexec
-- What wall screens, collectors and offices do: read.
SELECT 'CREATE ROLE commission_reader NOLOGIN'
    WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'commission_reader') \gexec

SELECT 'CREATE DATABASE commission OWNER commission_owner TEMPLATE template0 ENCODING ''UTF8'''
    WHERE NOT EXISTS (SELECT FROM pg_database WHERE datname = 'commission') \gexec
REVOKE ALL ON DATABASE commission FROM PUBLIC;
GRANT CONNECT ON DATABASE commission TO commission_owner, commission_writer, commission_reader;

-- One login for each bench, so that one can be shut out alone, and one for each reader:
--
--     CREATE ROLE bench_1 LOGIN IN ROLE commission_writer;
--     CREATE ROLE wall LOGIN IN ROLE commission_reader;
--     \password bench_1
