"""What every room may use: values, phones, pitch, options, files of the installation."""
