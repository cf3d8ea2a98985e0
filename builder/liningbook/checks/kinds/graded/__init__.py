"""What is stated of evidence against what is recorded of it: grades, strong words, open questions."""
