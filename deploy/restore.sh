#!/usr/bin/env bash
# Puts a backup back: restore.sh BACKUP [--yes], where BACKUP is a folder backup.sh made.
# The database becomes exactly what was saved, or stays as it is if anything fails. The files
# of today are kept in MEDIA_ROOT/.before-restore-<UTC time>. Stop web, worker and beat first.
#
# restore.sh BACKUP --beside NAME FOLDER puts it into a new database NAME on the same server and
# its files into a new FOLDER; the present ones stay untouched and the site may run on.
# An encrypted backup is opened with the passphrase in BACKUP_KEY_FILE.
set -euo pipefail
umask 077
# shellcheck source=common.sh
. "$(dirname "${BASH_SOURCE[0]}")/common.sh"

usage="usage: $0 BACKUP [--yes | --beside NAME FOLDER]"
beside=
case "$#:${2:-}" in
1: | 2:--yes) ;;
4:--beside) beside=$3 ;;
*) die "$usage" ;;
esac
[[ -d $1 ]] || die "There is no backup $1."
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

refuse_open() {
	local others
	for _ in 1 2 3 4 5; do # one that has just been closed takes a moment to go
		others=$(open_connections)
		[[ $others -ne 0 ]] || return 0
		sleep 0.5
	done
	die "$others connections are open: stop web, worker and beat first."
}

if [[ -n $beside ]]; then
	[[ $beside =~ ^[a-z][a-z0-9_]{0,50}$ ]] || die "NAME is made of small letters, digits and _."
	media=$4
	[[ ! -e $media ]] || die "$media exists: name a new folder."
	createdb "$beside" || die "Nothing was changed."
	mkdir -p "$media"
	export PGDATABASE=$beside
else
	refuse_open
	if [[ ${2:-} != --yes ]]; then
		read -rp "Everything in database '$PGDATABASE' is replaced. Type its name to go on: " answer
		[[ $answer == "$PGDATABASE" ]] || die "Nothing was changed."
	fi
fi

mkdir -p "$media"
incoming=$media/.restore
rm -rf "$incoming"
mkdir -p "$incoming/files"
is_in=
undo() {
	local status=$?
	if [[ -n $is_in && $status -ne 0 ]]; then
		echo "The database is restored, its files are not all in place: they are in $incoming/files." >&2
		exit "$status"
	fi
	rm -rf "$incoming"
	if [[ -n $beside && $status -ne 0 ]]; then
		rm -rf "$media"
		PGDATABASE=postgres dropdb --if-exists "$beside"
	fi
	exit "$status"
}
trap undo EXIT
files=$(opened "$backup/media.tar.gz" "$incoming")
tar --extract --gzip --preserve-permissions --numeric-owner \
	--file="$files" --directory="$incoming/files"
# To a file and not through a pipe: psql would commit a half that pg_restore failed to finish.
dump=$(opened "$backup/database.dump" "$incoming")
pg_restore --no-owner --no-acl --file="$incoming/database.sql" "$dump"

# A backup of a version before sign-ins were counted has no such column.
end_sign_ins="do \$\$ begin
	if exists (select from information_schema.columns
		where table_name = 'lib_user' and column_name = 'session_round')
	then update lib_user set session_round = session_round + 1; end if;
end \$\$"

# One transaction; the schema goes as a whole, so tables younger than the backup go too. Whoever
# was signed in out of a backup is not: every account's sign-ins of before are over.
psql --no-psqlrc --quiet --single-transaction --set=ON_ERROR_STOP=1 --output=/dev/null \
	--command='drop schema public cascade; create schema public' --file="$incoming/database.sql" \
	--command='set search_path to public' --command="$end_sign_ins"

is_in=yes

before=$media/.before-restore-$(date -u +%Y%m%dT%H%M%SZ)
mkdir "$before"
# Who was erased since the backup is erased again by the next sweep, which reads .erased: the list
# that is here, or on a new machine the backup's.
[[ ! -e $media/.erased ]] || rm -f "$incoming/files/.erased"
find "$media" -mindepth 1 -maxdepth 1 ! -name .restore ! -name '.before-restore-*' \
	! -name .erased -exec mv -t "$before" {} +
find "$incoming/files" -mindepth 1 -maxdepth 1 -exec mv -t "$media" {} +
if [[ -n $beside ]]; then
	rmdir "$before"
	echo "Restored $backup into database '$beside' and $media. To look at it: deploy/README.md."
else
	echo "Restored $backup. The files of before are in $before."
fi
