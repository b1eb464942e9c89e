"""One passage of guitar music in, a printed book of practice out."""
