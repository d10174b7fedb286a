"""The data files: devices, forms and styles. People read and extend them; `engine.rows` reads them."""
