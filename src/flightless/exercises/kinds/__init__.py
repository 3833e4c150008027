"""The kinds of exercise, one class and one module each; `registry` lists them."""
