# Where the bash-completion package is missing, this stands in for the one function of it that is needed here: it joins the
# words again that bash has split at = and :, and sets cur, prev, words and cword.
if ! declare -F _get_comp_words_by_ref >/dev/null 2>&1; then
    _get_comp_words_by_ref()
    {
        local line=$COMP_LINE word i last=-1
        words=()
        cword=0
        for ((i = 0; i < ${#COMP_WORDS[@]}; i++)); do
            word=${COMP_WORDS[i]}
            if ((last >= 0)) && [[ $line != [[:space:]]* && ($word == [=:]* || ${words[last]} == *[=:]) && -n $word ]]; then
                words[last]+=$word
            else
                line=${line#"${line%%[![:space:]]*}"}
                last=$((last + 1))
                words[last]=$word
            fi
            line=${line#"$word"}
            ((i == COMP_CWORD)) && cword=$last
        done
        cur=${words[cword]}
        prev=
        ((cword > 0)) && prev=${words[cword - 1]}
    }
fi
