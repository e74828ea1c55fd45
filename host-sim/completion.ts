/**
 * Shell completion: the scripts that `smirr completion bash|zsh` prints. Each hands the words typed
 * so far to `smirr --complete`, which prints one candidate a line; where there is none, the shell
 * completes file names.
 */

const BASH = `# smirr: completion for bash. Add it once: smirr completion bash >> ~/.bashrc
_smirr_words() {
  local current="\${COMP_WORDS[COMP_CWORD]}" candidates
  candidates="$(SHELL=bash "\${COMP_WORDS[0]}" --complete "\${COMP_WORDS[@]:0:COMP_CWORD+1}" 2>/dev/null)"
  local IFS=$'\\n'
  COMPREPLY=($(compgen -W "$candidates" -- "$current"))
}
complete -o default -F _smirr_words smirr
`;

const ZSH = `#compdef smirr
# smirr: completion for zsh. Add it once: smirr completion zsh >> ~/.zshrc (after compinit)
_smirr_words() {
  local -a candidates
  candidates=("\${(@f)$(SHELL=zsh "\${words[1]}" --complete "\${(@)words[1,CURRENT]}" 2>/dev/null)}")
  if [[ -n "\${candidates[1]}" ]]; then
    _describe 'smirr' candidates
  else
    _files
  fi
}
compdef _smirr_words smirr
`;

/** The script of each shell. */
export const COMPLETION_SCRIPTS: Readonly<Record<string, string>> = { bash: BASH, zsh: ZSH };

/** The script of one shell; the shell's name has been checked. */
export function completionScript(shell: string): string {
  return COMPLETION_SCRIPTS[shell];
}
