#!/usr/bin/env bash
# Puts a backup back: restore.sh BACKUP [--yes], where BACKUP is a folder backup.sh made.
# The database becomes exactly what was saved, or stays as it is if anything fails. The files
# of today are kept in MEDIA_ROOT/.before-restore-<UTC time>. Stop web, worker and sweep first.
set -euo pipefail
umask 077
# shellcheck source=common.sh
. "$(dirname "${BASH_SOURCE[0]}")/common.sh"

[[ $# -eq 1 || ($# -eq 2 && $2 == --yes) ]] || die "usage: $0 BACKUP [--yes]"
backup=$(cd "$1" && pwd)
[[ -z ${BANDOPS_ENV:-} ]] || load_env "$BANDOPS_ENV"
use_database
media=${MEDIA_ROOT:?MEDIA_ROOT is not set}

(cd "$backup" && sha256sum --check --quiet SHA256SUMS) || die "The backup is damaged."
open_connections() {
	psql --no-psqlrc --tuples-only --no-align --command "select count(*) from pg_stat_activity
		where datname = current_database() and pid <> pg_backend_pid()
		and backend_type = 'client backend'"
}
for _ in 1 2 3 4 5; do # one that has just been closed takes a moment to go
	others=$(open_connections)
	[[ $others -ne 0 ]] || break
	sleep 0.5
done
[[ $others -eq 0 ]] || die "$others connections are open: stop web, worker and sweep first."
if [[ ${2:-} != --yes ]]; then
	read -rp "Everything in database '$PGDATABASE' is replaced. Type its name to go on: " answer
	[[ $answer == "$PGDATABASE" ]] || die "Nothing was changed."
fi

mkdir -p "$media"
incoming=$media/.restore
rm -rf "$incoming"
mkdir -p "$incoming/files"
trap 'rm -rf "$incoming"' EXIT
tar --extract --gzip --preserve-permissions --numeric-owner \
	--file="$backup/media.tar.gz" --directory="$incoming/files"
# To a file and not through a pipe: psql would commit a half that pg_restore failed to finish.
pg_restore --no-owner --no-acl --file="$incoming/database.sql" "$backup/database.dump"

# One transaction; the schema goes as a whole, so tables younger than the backup go too.
psql --no-psqlrc --quiet --single-transaction --set=ON_ERROR_STOP=1 --output=/dev/null \
	--command='drop schema public cascade; create schema public' --file="$incoming/database.sql"

before=$media/.before-restore-$(date -u +%Y%m%dT%H%M%SZ)
mkdir "$before"
find "$media" -mindepth 1 -maxdepth 1 ! -name .restore ! -name '.before-restore-*' \
	-exec mv -t "$before" {} +
find "$incoming/files" -mindepth 1 -maxdepth 1 -exec mv -t "$media" {} +
echo "Restored $backup. The files of before are in $before."
