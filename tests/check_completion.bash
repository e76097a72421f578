#!/bin/bash
# Completion for bash: what it offers for a command line, beside what the program takes.
cd "$(dirname "$0")/.." || exit 1
program=$PWD/${TWOLIMB_BUILD:-build}/twolimb
source src/install/twolimb.bash
scratch=$(mktemp -d) || exit 1
trap 'rm -rf "$scratch"' EXIT
mkdir "$scratch/in ner" && touch "$scratch"/{a.csv,b.json,"c d.jpg"} && cd "$scratch" || exit 1
count=0 failed=0

offered() { # WORDS of a line, the last one being typed: what is offered, sorted
    COMP_WORDS=("$program" "$@") COMP_CWORD=$# COMPREPLY=()
    _twolimb
    printf '%s\n' "${COMPREPLY[@]}" | sort | paste -sd'|'
}

check() { # NAME GOT EXPECTED
    ((++count))
    if [[ $2 == "$3" ]]; then
        echo "ok $count - $1"
    else
        ((++failed))
        echo "not ok $count - $1"
        echo "# offered \"$2\", not \"$3\""
    fi
}

# The options a command's --help shows, found in another way than the completion does.
shown() { "$program" "$1" --help | grep -E '^ {2,4}-' | grep -oE '^ +(-[a-z], )?--[a-z-]+' | tr -d ' ' | tr ',' '\n' | sort -u | paste -sd'|'; }

# The values the program says it takes, when it is given one that it does not.
taken() { "$program" analyse "$1" nonsense x 2>&1 | sed 's/.*choose //; s/\.$//; s/, \| or /\n/g' | sort | paste -sd'|'; }

check 'commands' "$(offered '')" '--help|--version|analyse|predict|simulate'
check 'commands that begin so' "$(offered pr)" 'predict'
for command in analyse predict simulate; do
    check "options of $command" "$(offered "$command" -)" "$(shown "$command")"
done
check 'options that begin so' "$(offered predict --s)" '--site|--spots|--sun-radius'
check 'an option where nothing else goes' "$(offered predict --js)" '--json'
check 'nothing for a command that is none' "$(offered nonsense -)" ''
for option in --holding --mirror; do
    check "values of $option" "$(offered analyse "$option" '')" "$(taken "$option")"
done
check 'values that begin so' "$(offered analyse --holding f)" 'fixed|free'
check 'values after =' "$(offered analyse --holding = '')" "$(taken --holding)"
check 'values after =, typed' "$(offered analyse --holding = al)" 'altaz'
check 'values at =' "$(offered analyse --mirror =)" "$(taken --mirror)"
check 'a word for a place' "$(offered analyse --site '')" 'unknown'
check 'no word for a place to predict for' "$(offered predict --site '')" ''
check 'nothing for a number' "$(offered analyse --jobs '')" ''
check 'a folder for results' "$(offered analyse -o '')" 'in ner'
check 'a folder for results, long' "$(offered analyse --output '')" 'in ner'
check 'tables' "$(offered analyse --times '')" 'a.csv|in ner'
check 'any file' "$(offered analyse --exclude '')" 'a.csv|b.json|c d.jpg|in ner'
check 'pictures and folders' "$(offered analyse --quiet '')" 'a.csv|b.json|c d.jpg|in ner'
check 'pictures that begin so' "$(offered analyse c)" 'c d.jpg'
check 'a scene' "$(offered simulate '')" 'b.json|in ner'
check 'a new folder' "$(offered simulate b.json '')" 'in ner'
check 'it is bound to the program' "$(complete -p twolimb)" 'complete -F _twolimb twolimb'
echo "1..$count"
exit $((failed > 0))
